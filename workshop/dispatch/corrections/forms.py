"""The form that corrects a dispatch."""

from typing import Any

from django import forms

from workshop.dispatch.models import Customer, Dispatch
from workshop.ledger.amendments.forms import AmendForm


class CorrectDispatchForm(AmendForm):
    customer = forms.ModelChoiceField(Customer.objects.none(), empty_label=None)
    customer_reference = forms.CharField(
        label="Their order or reference", max_length=60, required=False
    )
    note = forms.CharField(
        max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, *args: Any, dispatch: Dispatch, confirmed: str, **kwargs: Any) -> None:
        names = ("customer", "customer_reference", "note")
        kwargs["initial"] = {name: getattr(dispatch, name) for name in names}
        super().__init__(*args, **kwargs)
        field: Any = self.fields["customer"]
        own = Customer.objects.filter(pk=dispatch.customer_id)
        field.queryset = own if confirmed else (Customer.objects.active() | own)
        if confirmed:
            field.help_text = f"The customer stays: {confirmed}."
