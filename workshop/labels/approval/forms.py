"""The form that says which label a printed roll carries."""

from typing import Any

from django import forms

from workshop.core.forms import TokenField, helper
from workshop.ledger.models import ItemKind, Lot, Unit

MOST_OFFERED = 60


class RollForm(forms.Form):
    """A lot of packaging on hand that is counted in pieces, the newest first."""

    lot = forms.ModelChoiceField(
        Lot.objects.none(),
        label="Lot of printed labels",
        help_text="Rolls and sheets come in as packaging, under Goods-in.",
    )
    token = TokenField()

    def __init__(self, data: Any = None) -> None:
        super().__init__(data)
        lots = Lot.objects.in_stock().filter(item__kind=ItemKind.PACKAGING, item__unit=Unit.EACH)
        found = list(lots.select_related("item").order_by("-pk")[:MOST_OFFERED])
        choice: Any = self.fields["lot"]
        choice.queryset = Lot.objects.filter(pk__in=[one.pk for one in found]).select_related(
            "item"
        )
        choice.choices = [("", "choose"), *((one.pk, f"{one}, {one.item}") for one in found)]
        self.helper = helper("This lot carries this label")
