"""Forms for what happens to a lot on the shelf."""

from decimal import Decimal
from typing import Any

from django import forms
from django.http import HttpRequest

from workshop.core.forms import ExactField, TokenField, helper
from workshop.core.web.passwords import ConfirmedForm
from workshop.ledger.models import Lot, ShedKind, Status, Unit
from workshop.ledger.release_conditions import release_page
from workshop.ledger.services import LARGEST
from workshop.rules.lot_status import moves_from


def places(lot: Lot) -> int:
    return 3 if lot.item.unit == Unit.GRAM else 0


class CountForm(forms.Form):
    token = TokenField()
    reason = forms.CharField(
        max_length=300,
        required=False,
        help_text="Needed when the count differs from the book.",
    )

    def __init__(self, *args: object, lot: Lot, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]  # passed on as they came
        unit = lot.item.get_unit_display()
        self.fields["counted"] = ExactField(
            label=f"Counted, in {unit}", places=places(lot), least=0, most=LARGEST - 1
        )
        self.order_fields(["counted", "reason"])
        self.helper = helper("Record the count")


class DiscardForm(forms.Form):
    token = TokenField()
    reason = forms.CharField(max_length=300, label="Reason for the write-off")

    def __init__(self, *args: object, lot: Lot, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]  # passed on as they came
        unit = lot.item.get_unit_display()
        self.fields["quantity"] = ExactField(label=f"Written off, in {unit}", places=places(lot))
        self.order_fields(["quantity", "reason"])
        self.helper = helper("Write it off")


# What may be lost where it stands; what dries on a rack is weighed there, week by week.
LOSSES = (ShedKind.SPILLED, ShedKind.EVAPORATED, ShedKind.SAMPLED, ShedKind.TRIMMED)


class LossForm(forms.Form):
    """Some grams of a lot left it where it stands."""

    kind = forms.TypedChoiceField(
        choices=[(one.value, one.label) for one in LOSSES], coerce=ShedKind, label="How"
    )
    quantity = ExactField(label="How much, in grams", places=3, least=Decimal("0.001"))
    is_estimated = forms.BooleanField(required=False, label="Not weighed, estimated by eye")
    reason = forms.CharField(max_length=300, required=False, label="Remark")
    token = TokenField()
    helper = helper("Record the loss")


class StatusForm(ConfirmedForm):
    """Another status for a lot, as far as it is decided here; a room's lots are released there."""

    status = forms.ChoiceField(choices=())
    reason = forms.CharField(max_length=300, required=False, help_text="It stays with the lot.")
    field_order = ("status", "reason", "password")

    def __init__(self, *args: Any, lot: Lot, request: HttpRequest, **kwargs: Any) -> None:
        super().__init__(*args, request=request, **kwargs)
        choices = self.fields["status"]
        choices.choices = _choices(lot)  # type: ignore[attr-defined]  # a choice of words
        choices.error_messages["invalid_choice"] = _not_here(lot)
        if lot.status != Status.REJECTED:
            del self.fields["password"]
        self.helper = helper("Change the status")


def _choices(lot: Lot) -> list[tuple[str, str]]:
    found = [Status(now) for now in moves_from(lot.status)]
    decided_there = {Status.RELEASED} if release_page(lot) else set()
    return [(one.value, str(one.label)) for one in found if one not in decided_there]


def _not_here(lot: Lot) -> str:
    if not release_page(lot):
        return "Choose one of these."
    return f"Choose one of these. Whether it is released is decided at {lot.origin}."
