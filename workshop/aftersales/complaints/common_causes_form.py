"""Which batches are compared, and which complaints."""

from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Submit
from django import forms

from workshop.aftersales.models import Complaint, ComplaintQuerySet, Nature
from workshop.core.forms import DayField
from workshop.ledger.models import Item, ItemKind, OperationKind


class WindowForm(forms.Form):
    first = DayField(label="Made from")
    last = DayField(label="to")
    nature = forms.ChoiceField(
        label="Complaints of", choices=[("", "every nature"), *Nature.choices], required=False
    )
    product = forms.ModelChoiceField(
        Item.objects.of_kind(ItemKind.PRODUCT), required=False, empty_label="every product"
    )
    act = forms.ChoiceField(
        label="Compare",
        choices=[
            (OperationKind.BATCH.value, "batches and all that is behind them"),
            (OperationKind.PACKING.value, "packing runs and what they took"),
        ],
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.form_method = "get"
        self.helper.form_class = "sieve"
        self.helper.disable_csrf = True
        self.helper.add_input(Submit("", "Compare"))

    def clean_act(self) -> OperationKind:
        return OperationKind(self.cleaned_data["act"])

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        first, last = cleaned.get("first"), cleaned.get("last")
        if first and last and first > last:
            self.add_error("last", "This day is before the first one.")
        return cleaned

    def complaints(self) -> ComplaintQuerySet:
        rows = Complaint.objects.all()
        if self.cleaned_data["nature"]:
            rows = rows.filter(nature=self.cleaned_data["nature"])
        if self.cleaned_data["product"]:
            rows = rows.filter(product=self.cleaned_data["product"])
        return rows
