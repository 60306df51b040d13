"""Forms of suppliers and their organic certificates."""

from typing import Any

from crispy_forms.layout import Div, Field, Layout
from django import forms
from django.db.models import Q

from workshop.core.forms import DayField, DocumentField, helper
from workshop.core.saving.edit_conflicts import Watching
from workshop.goods_in.forms import picking
from workshop.goods_in.models import Certificate, Supplier
from workshop.ledger.models import Item, ItemKind
from workshop.materials.ingredients import scheme_choices
from workshop.materials.models import LABEL_SCHEME


class SupplierForm(Watching, forms.ModelForm[Supplier]):
    class Meta:
        model = Supplier
        fields = ["name", "contact", "address", "email", "telephone", "note", "is_active"]
        widgets = {
            "address": forms.Textarea(attrs={"rows": 3}),
            "note": forms.Textarea(attrs={"rows": 2}),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Save the supplier")
        if self.instance.pk:
            self.watch(self.instance.history.all())


class CertificateForm(Watching, forms.Form):
    supplier = forms.ModelChoiceField(Supplier.objects.none(), empty_label="choose the supplier")
    certifier = forms.CharField(max_length=120)
    number = forms.CharField(max_length=60)
    scheme = forms.ChoiceField()
    holder = forms.CharField(
        label="Name on the certificate",
        max_length=120,
        required=False,
        help_text="If it is another than the supplier's name here.",
    )
    operation_number = forms.CharField(
        label="Operation in the public database", max_length=40, required=False
    )
    valid_from = DayField(label="Valid from")
    valid_to = DayField(label="Valid to", help_text="The last day it is valid.")
    scope = forms.CharField(
        max_length=4000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="As the certificate words it.",
    )
    # Not a choice of rows by the framework: that one fails on SQLite for a number too large.
    items = forms.TypedMultipleChoiceField(
        label="Materials it covers",
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    document = DocumentField(label="The certificate itself", required=False)

    def __init__(self, *args: Any, certificate: Certificate | None = None, **kwargs: Any) -> None:
        if certificate:
            kwargs["initial"] = {
                **{name: getattr(certificate, name) for name in self.base_fields},
                "items": [str(item.pk) for item in certificate.items.all()],
                "document": None,
            }
        super().__init__(*args, **kwargs)
        self._offer(certificate)
        self.helper = helper("Save the certificate")
        self.helper.layout = Layout(
            Div("supplier", css_class="row"),
            Div("certifier", "number", "scheme", css_class="row"),
            Div("holder", "operation_number", css_class="row"),
            Div("valid_from", "valid_to", css_class="row"),
            Field("items", wrapper_class="ticks"),
            "scope",
            "document",
        )
        if certificate:
            self.watch(certificate.history.all())

    def clean_scheme(self) -> str:
        return self.cleaned_data["scheme"] or LABEL_SCHEME

    def _offer(self, certificate: Certificate | None) -> None:
        """Those in use, and what the certificate names already."""
        self.fields["scheme"] = forms.ChoiceField(
            choices=scheme_choices(), initial=LABEL_SCHEME, required=False
        )
        kept = Q(certificates=certificate) if certificate else Q(pk=None)
        suppliers, items = self.fields["supplier"], self.fields["items"]
        assert isinstance(suppliers, forms.ModelChoiceField)  # noqa: S101 -- for the type checker
        assert isinstance(items, forms.TypedMultipleChoiceField)  # noqa: S101 -- likewise
        suppliers.queryset = Supplier.objects.filter(Q(is_active=True) | kept).distinct()
        materials = (
            Item.objects.of_kind(ItemKind.MATERIAL).filter(Q(is_active=True) | kept).distinct()
        )
        rows = {str(item.pk): item for item in materials}
        items.choices = [(pk, item.name) for pk, item in rows.items()]
        items.coerce = picking(rows)
        if certificate and certificate.document:
            self.fields["document"].help_text = (
                f"{certificate.document.name} is kept; a new file takes its place."
                f" {self.fields['document'].help_text}"
            )
