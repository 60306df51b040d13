"""Forms for what happens to a lot on the shelf."""

from django import forms

from workshop.core.forms import ExactField, TokenField, helper
from workshop.ledger.models import Act, Lot, Status, Unit
from workshop.ledger.services import LARGEST

# What came in or was packed is released there: the room has checks that stock knows nothing of.
JUDGED_AT_ITS_ORIGIN = (Act.RECEIPT, Act.PACKING)


def is_judged_at_its_origin(lot: Lot) -> bool:
    return lot.origin.kind in JUDGED_AT_ITS_ORIGIN


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

    def __init__(self, *args: object, lot: Lot, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]  # passed on as they came
        kept_out = {Status(lot.status)}
        if is_judged_at_its_origin(lot):
            kept_out.add(Status.RELEASED)
            self.fields["status"].error_messages["invalid_choice"] = (
                f"Choose one of these. Whether it is released is decided at {lot.origin}, where "
                "its checks stand."
            )
            self.fields["reason"].help_text = ""
        self.fields["status"].choices = [  # type: ignore[attr-defined]  # a choice of words
            (one.value, one.label) for one in Status if one not in kept_out
        ]
        self.helper = helper("Change the status")
