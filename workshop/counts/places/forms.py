"""Forms of places: a place, and the lots that are put there."""

from typing import Any

from django import forms

from workshop.core.forms import TokenField, helper
from workshop.core.saving.edit_conflicts import Watching
from workshop.ledger.models import Lot, Place, PlaceKind
from workshop.rules.codes.lot_codes import normalise_code, show_lot_code
from workshop.rules.codes.place_codes import is_place_code

MOST_AT_ONCE = 200


class PlaceForm(Watching, forms.ModelForm[Place]):
    kind = forms.ChoiceField(choices=[("", "choose"), *PlaceKind.choices])

    class Meta:
        model = Place
        fields = ["name", "kind", "is_active"]
        help_texts = {"name": "Such as Cupboard by the door, second shelf."}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Save the place")
        if self.instance.pk:
            self.watch(self.instance.history.all())


class PutForm(forms.Form):
    """Lots as they were scanned, one code a line."""

    lots = forms.CharField(
        label="Lots",
        max_length=5000,
        widget=forms.Textarea(
            attrs={"rows": 4, "data-code": "", "autocapitalize": "characters", "autofocus": ""}
        ),
        help_text="Scan one after the other, or type each code on a line of its own.",
        error_messages={"required": "Scan at least one lot."},
    )
    spot = forms.CharField(
        label="Where exactly", max_length=40, required=False, help_text="Such as trays 3 and 4."
    )
    token = TokenField()
    helper = helper("Put them here")

    def clean_lots(self) -> list[Lot]:
        codes = [code for line in self.cleaned_data["lots"].splitlines() for code in line.split()]
        asked = list(dict.fromkeys(normalise_code(code) for code in codes))
        if len(asked) > MOST_AT_ONCE:
            raise forms.ValidationError(f"At most {MOST_AT_ONCE} lots at a time.")
        known = {lot.code: lot for lot in Lot.objects.filter(code__in=asked)}
        wrong = [code for code in asked if code not in known]
        if wrong:
            raise forms.ValidationError([_not_a_lot(code) for code in wrong[:8]])
        return [known[code] for code in asked]


def _not_a_lot(code: str) -> str:
    if is_place_code(code):
        return f"{code} is a place. Open that place to put lots there."
    return f"No lot has the code {show_lot_code(code)[:40]}. Nothing was moved; correct it."
