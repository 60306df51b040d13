"""Forms for what happens to a lot on the shelf."""

from django import forms

from workshop.core.forms import ExactField, TokenField, helper
from workshop.ledger.models import Lot, Status, Unit
from workshop.ledger.services import LARGEST


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
    reason = forms.CharField(max_length=300, label="Why it is thrown away")

    def __init__(self, *args: object, lot: Lot, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]  # passed on as they came
        unit = lot.item.get_unit_display()
        self.fields["quantity"] = ExactField(label=f"Thrown away, in {unit}", places=places(lot))
        self.order_fields(["quantity", "reason"])
        self.helper = helper("Record the discard")


class StatusForm(forms.Form):
    status = forms.ChoiceField(choices=Status)
    reason = forms.CharField(
        max_length=300, required=False, help_text="Needed for anything but a release."
    )

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]  # passed on as they came
        self.helper = helper("Change the status")
