"""Forms of materials: what each is, the parts of a blend, packaging, use limits."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from crispy_forms.layout import Div, Field, Layout
from django import forms

from workshop.core.forms import DayField, ExactField, Fold, helper, parts_helper
from workshop.core.saving.edit_conflicts import Watching
from workshop.ledger.item_codes import free_code
from workshop.ledger.models import Item, ItemKind
from workshop.materials.models import Constituency, UseLimit
from workshop.materials.services.materials import BlendComponent, Material, records_of_profile

SMALLEST_SHARE = Decimal("0.0001")
MOST_PARTS = 60


class PackagingForm(Watching, forms.Form):
    code = forms.CharField(
        max_length=20,
        required=False,
        help_text="Short, such as TIN-60. Left empty, it is made from the name.",
    )
    name = forms.CharField(max_length=120)
    is_active = forms.BooleanField(label="in use", required=False, initial=True)

    kind = ItemKind.PACKAGING

    def __init__(self, *args: Any, material: Material | None = None, **kwargs: Any) -> None:
        item: Item | None = kwargs.pop("item", None)
        if material:
            kwargs["initial"] = vars(material)
        super().__init__(*args, **kwargs)
        self.helper = parts_helper()
        self.helper.layout = self.layout()
        if item:
            self.watch(item.history.all(), *records_of_profile(item))

    def layout(self) -> Layout:
        return Layout(Div("code", "name", css_class="row"), "is_active")

    def clean_code(self) -> str:
        return str(self.cleaned_data["code"]).upper()

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if data.get("name") and data.get("code") == "":
            data["code"] = free_code(data["name"])
        return data

    def material(self, parts: Sequence[BlendComponent] = ()) -> Material:
        return Material(**self.cleaned_data, kind=self.kind, parts=parts)


class MaterialForm(PackagingForm):
    code = forms.CharField(
        max_length=20,
        required=False,
        help_text="Short, such as OIL-OLIVE. Left empty, it is made from the name.",
    )
    inci_name = forms.CharField(
        label="INCI name", max_length=160, help_text="As an ingredient list names it."
    )
    common_name = forms.CharField(label="Common name", max_length=120, required=False)
    constituency = forms.TypedChoiceField(
        label="What it is in a list",
        choices=Constituency.choices,
        coerce=Constituency,
        initial=Constituency.PLAIN,
    )
    cas = forms.CharField(
        label="CAS number", max_length=12, required=False, help_text="Such as 8001-25-0."
    )
    density_g_per_ml = ExactField(
        label="Density, g/mL",
        places=4,
        least=Decimal("0.3"),
        most=5,
        unit="g/mL",
        required=False,
        help_text="Needed to read litres. Oils are near 0.92.",
    )
    soap_name = forms.CharField(
        label="Saponified INCI name",
        max_length=160,
        required=False,
        help_text="Of a fat that goes into soap, such as Sodium Olivate.",
    )
    soap_value = ExactField(
        label="Saponification value, mg KOH/g", places=1, least=0, most=400, required=False,
        help_text="For a fat in soap: olive oil is near 190. 0 for what binds no lye.",
    )  # fmt: skip
    soap_least = ExactField(label="Its lowest", places=1, least=50, most=400, required=False)
    soap_most = ExactField(label="Its highest", places=1, least=50, most=400, required=False)
    is_organic = forms.BooleanField(
        label="bought as organic; each lot needs its certificate", required=False
    )
    is_nano = forms.BooleanField(label="nanomaterial", required=False)
    shelf_life_months = forms.IntegerField(
        label="Shelf life, months",
        min_value=1,
        max_value=240,
        required=False,
        help_text="Used when the maker gives no expiry.",
    )
    max_arrival_c = ExactField(
        label="Warmest allowed on arrival, °C",
        places=1,
        least=-80,
        most=150,
        unit="°C",
        required=False,
        help_text="Only if it must come cool.",
    )
    melting_from_c = ExactField(
        label="Melting range, °C: from",
        places=1,
        least=-80,
        most=300,
        unit="°C",
        required=False,
        help_text="From the certificate of analysis or the data sheet.",
    )
    melting_to_c = ExactField(
        label="Melting range, °C: to",
        places=1,
        least=-80,
        most=300,
        unit="°C",
        required=False,
        help_text="The same as the first where only one melting point is given.",
    )
    storage = forms.CharField(max_length=200, required=False)
    caution = forms.CharField(
        max_length=300,
        required=False,
        help_text="Shown wherever it is handled, such as goggles and gloves for lye.",
    )

    kind = ItemKind.MATERIAL

    def layout(self) -> Layout:
        return Layout(
            Div("name", "inci_name", css_class="row"),
            Div("constituency", Field("is_organic", wrapper_class="beside"), css_class="row"),
            Fold(
                "Code, common name, CAS number", Div("code", "common_name", "cas", css_class="row")
            ),
            Fold(
                "Density, melting range, keeping",
                Div("density_g_per_ml", "melting_from_c", "melting_to_c", css_class="row"),
                Div("shelf_life_months", "max_arrival_c", "storage", css_class="row"),
            ),
            Fold(
                "In soap",
                Div("soap_name", "soap_value", css_class="row"),
                Div("soap_least", "soap_most", css_class="row"),
            ),
            Fold("Caution", "caution", "is_nano"),
            "is_active",
        )


class BlendPartForm(forms.Form):
    """One part of a bought blend."""

    inci_name = forms.CharField(label="INCI name", max_length=160)
    common_name = forms.CharField(label="Common name", max_length=120, required=False)
    kind = forms.TypedChoiceField(
        label="What it is",
        choices=Constituency.choices,
        coerce=Constituency,
        initial=Constituency.PLAIN,
    )
    share = ExactField(label="Share, %", places=4, least=SMALLEST_SHARE, most=100, unit="%")
    is_organic = forms.BooleanField(label="organic", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = parts_helper()
        self.helper.layout = Layout(
            Div("inci_name", "common_name", css_class="row"),
            Div("share", "kind", "is_organic", css_class="row"),
        )

    def clean_inci_name(self) -> str:
        return str(self.cleaned_data["inci_name"]).strip()


class BlendForm(forms.Form):
    """From which day the parts of a blend hold."""

    from_day = DayField(
        label="These parts hold from",
        required=False,
        help_text="The day their first delivery came in. Left empty: from the first lot on.",
    )

    def __init__(self, *args: Any, is_new: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = parts_helper()
        if is_new:
            self.fields["from_day"].required = True
            self.fields[
                "from_day"
            ].help_text = "The day their first delivery came in. Lots before it stay as they are."


class BaseParts(forms.BaseFormSet[BlendPartForm]):
    """The parts of a blend; a row left or made empty is no part."""

    def __init__(self, *args: Any, parts: Sequence[BlendComponent] = (), **kwargs: Any) -> None:
        self.kept = parts
        super().__init__(*args, **kwargs)

    def get_form_kwargs(self, index: int | None) -> dict[str, Any]:
        kwargs: dict[str, Any] = super().get_form_kwargs(index)
        if index is not None and index < len(self.kept) and not self.is_bound:
            kwargs["initial"] = vars(self.kept[index])
        return kwargs

    def parts(self) -> list[BlendComponent]:
        return [BlendComponent(**form.cleaned_data) for form in self.forms if form.has_changed()]


def parts_of(*args: Any, parts: Sequence[BlendComponent] = ()) -> BaseParts:
    make: Any = forms.formset_factory(
        BlendPartForm,
        formset=BaseParts,
        extra=len(parts) + 4,
        max_num=MOST_PARTS,
        absolute_max=MOST_PARTS + 1,
        validate_max=True,
    )
    rows: BaseParts = make(
        *args,
        prefix="parts",
        parts=parts,
        error_messages={
            "too_many_forms": f"A blend has at most {MOST_PARTS} parts here.",
            "missing_management_form": "The page came back incomplete. Reload it and type again.",
        },
    )
    return rows


class UseLimitForm(forms.ModelForm[UseLimit]):
    most = ExactField(label="At most, %", places=4, least=0, most=100, unit="%")
    helper = helper("Save the limit")

    class Meta:
        model = UseLimit
        fields = ["item", "source"]
        labels = {"item": "Material", "source": "Where the limit comes from"}

    field_order = ["item", "most", "source"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        rows = Item.objects.active().of_kind(ItemKind.MATERIAL)
        self.fields["item"].queryset = rows  # type: ignore[attr-defined]  # a choice of rows

    def clean_most(self) -> Any:
        most = self.cleaned_data["most"]
        if most is not None and most == 0:
            raise forms.ValidationError("It must be above zero.")
        self.instance.most = most
        return most
