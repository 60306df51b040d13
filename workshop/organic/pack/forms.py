"""What a pack is asked for."""

from typing import Any

from crispy_forms.layout import Div, Layout
from django import forms
from django.utils import timezone

from workshop.core.forms import DayField, TokenField, helper
from workshop.ledger.models import Lot, OperationKind
from workshop.organic.balance.forms import YEAR
from workshop.organic.balance.query import Period
from workshop.rules.codes.lot_codes import normalise_code

MOST_CHOSEN = 10


class PackForm(forms.Form):
    first = DayField(label="From", initial=lambda: timezone.localdate() - YEAR)
    last = DayField(label="To", initial=timezone.localdate)
    seed = forms.CharField(
        label="Words for the draw",
        max_length=64,
        help_text="Any words of the inspector: the same words draw the same three lots again.",
    )
    lots = forms.CharField(
        label="Finished lots to trace besides",
        max_length=300,
        required=False,
        help_text="Their codes, with commas between, such as three that the inspector picks.",
    )
    token = TokenField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Make the pack")
        self.helper.layout = Layout(
            Div("first", "last", css_class="row"), Div("seed", "lots", css_class="row"), "token"
        )

    def clean_lots(self) -> list[Lot]:
        codes = [code for code in self.cleaned_data["lots"].replace(";", ",").split(",") if code]
        wanted = [normalise_code(code.replace("\x00", "")) for code in codes if code.strip()]
        found = {
            lot.code: lot
            for lot in Lot.objects.filter(code__in=wanted, origin__kind=OperationKind.PACKING)
        }
        unknown = [code for code in wanted if code not in found]
        if unknown:
            raise forms.ValidationError(f"No finished lot is called {', '.join(unknown)}.")
        if len(found) > MOST_CHOSEN:
            raise forms.ValidationError(f"At most {MOST_CHOSEN} lots.")
        return list(found.values())

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        first, last = values.get("first"), values.get("last")
        if first and last:
            if first > last:
                self.add_error("last", "The period ends before it begins.")
            elif (last - first).days > 3 * 366:
                self.add_error("last", "A pack holds at most three years.")
            elif not 1990 <= first.year <= 2190:
                self.add_error("first", "Check the year.")
        return values

    @property
    def period(self) -> Period:
        return Period(self.cleaned_data["first"], self.cleaned_data["last"])
