"""The form of a product."""

from decimal import Decimal
from typing import Any

from crispy_forms.layout import Div, Fieldset, Layout
from django import forms
from django.forms.models import model_to_dict

from workshop.core.forms import ExactField, helper, refusals_on
from workshop.core.saving.edit_conflicts import Watching
from workshop.ledger.item_codes import free_code
from workshop.ledger.models import Item, ItemKind
from workshop.packing.fills import read_fill
from workshop.packing.models import Product
from workshop.packing.services.products import ProductFacts

MADE_OF = (
    "code",
    "name",
    "bulk",
    "container",
    "fill_g",
    "density_g_per_ml",
    "unit_name",
    "shelf_life_months",
    "gtin",
)
ON_THE_LABEL = (
    "label_name",
    "identity",
    "directions",
    "cautions",
    "claims_organic",
    "is_small_package",
)


class ProductForm(Watching, forms.Form):
    code = forms.CharField(
        max_length=20,
        required=False,
        help_text="Short, in capitals, such as SALVE-60. Left empty, it is made from the name.",
    )
    name = forms.CharField(max_length=120)
    bulk = forms.ModelChoiceField(Item.objects.none(), help_text="What is filled in.")
    container = forms.ModelChoiceField(Item.objects.none(), help_text="What it is filled into.")
    fill_g = forms.CharField(
        label="Fill",
        max_length=30,
        help_text="As the label says: “60 g”, “2 oz”, or of a liquid “250 mL”.",
    )
    density_g_per_ml = ExactField(
        label="Density, g/mL at 20 °C",
        places=4,
        least=Decimal("0.3"),
        most=5,
        required=False,
        help_text="For a fill by volume, which is filled and checked by weight."
        " If left empty, it is calculated from the formula.",
    )
    unit_name = forms.CharField(
        label="One unit is a", max_length=20, initial="tin", help_text="tin, jar, bar …"
    )
    shelf_life_months = forms.IntegerField(
        label="Shelf life, months",
        min_value=1,
        max_value=120,
        required=False,
        help_text="From the day of packing. Left empty, the formula's shelf life holds.",
    )
    gtin = forms.CharField(
        label="GTIN",
        max_length=20,
        required=False,
        help_text="The 8, 12 or 13 digits of its bar code, if it has one.",
        widget=forms.TextInput(attrs={"data-code": True}),
    )
    label_name = forms.CharField(
        max_length=120,
        required=False,
        help_text="If the label prints another name than this one without its contents.",
    )
    identity = forms.CharField(
        label="What it is",
        max_length=120,
        required=False,
        help_text="In plain words for the label, such as “hand salve”.",
    )
    directions = forms.CharField(widget=forms.Textarea(attrs={"rows": 3}), required=False)
    cautions = forms.CharField(
        widget=forms.Textarea(attrs={"rows": 3}),
        required=False,
        help_text="As the label prints them. A qualified assessor says which the product needs.",
    )
    claims_organic = forms.BooleanField(label="It is sold as organic", required=False)
    is_small_package = forms.BooleanField(
        label="It is a small package: all sides together have less than 12 square inches "
        "(77 cm²) for labelling, and letters may be half as high",
        required=False,
    )
    is_active = forms.BooleanField(label="It is still made", required=False, initial=True)

    def __init__(self, *args: Any, product: Product | None = None, **kwargs: Any) -> None:
        if product is not None:
            kwargs["initial"] = facts_of(product)
        super().__init__(*args, **kwargs)
        kept = [product.bulk_id, product.container_id] if product else []
        for name, kind in (("bulk", ItemKind.BULK), ("container", ItemKind.PACKAGING)):
            items = Item.objects.of_kind(kind).active() | Item.objects.filter(
                pk__in=kept, kind=kind
            )
            self.fields[name].queryset = items  # type: ignore[attr-defined]  # a choice of rows
            if product is None and len(sole := items[:2]) == 1:  # nothing to choose
                self.fields[name].initial = sole[0].pk
        for name in ("bulk", "container"):
            self.fields[name].empty_label = f"choose the {name}"  # type: ignore[attr-defined]  # as above
        if product is None:
            del self.fields["is_active"]
        self.helper = helper("Save the product")
        self.helper.form_class = "free"
        self.helper.layout = Layout(
            Div(
                Fieldset("What it is made of", *MADE_OF),
                Fieldset("What its label says", *ON_THE_LABEL),
                css_class="columns",
            ),
            *(["is_active"] if product else []),
        )
        if product is not None:
            self.watch(product.history.all(), product.item.history.all())

    def clean_code(self) -> str:
        return str(self.cleaned_data["code"]).upper()

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if data.get("name") and data.get("code") == "":
            data["code"] = free_code(data["name"])
        if data.get("fill_g") and "density_g_per_ml" in data:
            with refusals_on(self):
                data |= read_fill(data["fill_g"], data["density_g_per_ml"], data.get("bulk"))
        return data

    def facts(self) -> ProductFacts:
        return ProductFacts(**self.cleaned_data)


def _plain(amount: Decimal | None, unit: str) -> str:
    return f"{amount.normalize():f} {unit}" if amount else ""


def facts_of(product: Product) -> dict[str, Any]:
    item = product.item
    return model_to_dict(product, exclude=["id", "item"]) | {
        "code": item.code,
        "name": item.name,
        "is_active": item.is_active,
        "fill_g": _plain(product.fill_ml, "mL") or _plain(product.fill_g, "g"),
    }
