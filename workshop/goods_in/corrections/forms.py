"""Forms that put a receipt right."""

from typing import Any

from django import forms

from workshop.core.forms import DayField
from workshop.goods_in.models import Receipt, ReceiptLine
from workshop.ledger.amendments.forms import AmendForm


class CorrectReceiptForm(AmendForm):
    delivery_note = forms.CharField(label="Delivery note", max_length=60, required=False)
    note = forms.CharField(
        max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, *args: Any, receipt: Receipt, **kwargs: Any) -> None:
        kwargs["initial"] = {"delivery_note": receipt.delivery_note, "note": receipt.note}
        super().__init__(*args, **kwargs)


class CorrectLineForm(AmendForm):
    supplier_lot = forms.CharField(label="Supplier's lot", max_length=60)
    makers_expiry = DayField(
        label="Expiry (or retest) date",
        required=False,
        help_text="Left empty, the shelf life of the material holds from the day of receipt.",
    )

    def __init__(self, *args: Any, line: ReceiptLine, **kwargs: Any) -> None:
        names = ("supplier_lot", "makers_expiry")
        kwargs["initial"] = {name: getattr(line, name) for name in names}
        super().__init__(*args, **kwargs)
