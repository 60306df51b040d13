"""The receipt form: its head, and any number of lots on one page."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import partial
from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Div, Field, Layout
from django import forms
from django.core.validators import MinValueValidator
from django.utils import timezone

from workshop.core import formatting
from workshop.core.forms import (
    DayField,
    DocumentField,
    ExactField,
    TokenField,
    helper,
    parts_helper,
)
from workshop.goods_in.delivery_checks import ArrivedLot, RefusedLines, read_quantity
from workshop.goods_in.models import Certificate, Supplier
from workshop.ledger.models import Item, ItemKind
from workshop.rules.errors import RuleError

MOST_LOTS = 40
Option = tuple[str, str]
Group = tuple[str, list[Option]]


def bought_items() -> list[Item]:
    """The materials and packaging in use, with what a quantity needs to be read."""
    items = Item.objects.active().of_kind(ItemKind.MATERIAL, ItemKind.PACKAGING)
    return list(items.select_related("profile"))


@dataclass(frozen=True)
class Offer:
    """What the rows of one page may choose from, read once for all of them."""

    items: Mapping[str, Item]
    certificates: Mapping[str, Certificate]
    item_options: Sequence[Group] = field(default_factory=list)
    certificate_options: Sequence[Group] = field(default_factory=list)

    @classmethod
    def on(cls, day: date) -> "Offer":
        items = {str(item.pk): item for item in bought_items()}
        # A delivery may be entered late; what lapsed more than a year ago is in nobody's way.
        recent = Certificate.objects.filter(valid_to__gte=day - timedelta(days=366))
        rows = recent.select_related("supplier").order_by("supplier__name", "-valid_to", "number")
        certificates = {str(row.pk): row for row in rows}
        return cls(
            items,
            certificates,
            _grouped({pk: (row.get_kind_display(), row.name) for pk, row in items.items()}),
            _grouped(
                {
                    pk: (row.supplier.name, f"{row}, valid to {formatting.day(row.valid_to)}")
                    for pk, row in certificates.items()
                }
            ),
        )


def picking(rows: Mapping[str, Any]) -> Callable[[Any], Any]:
    """Turn a chosen key into its row; any other key is no choice."""

    def pick(key: Any) -> Any:
        if key not in rows:
            raise ValueError(key)
        return rows[key]

    return pick


def _grouped(rows: Mapping[str, tuple[str, str]]) -> list[Group]:
    groups: dict[str, list[Option]] = {}
    for pk, (group, label) in rows.items():
        groups.setdefault(group, []).append((pk, label))
    return list(groups.items())


class ReceiptForm(forms.Form):
    supplier = forms.ModelChoiceField(
        Supplier.objects.active(),
        empty_label="choose the supplier",
        error_messages={"required": "Choose the supplier."},
    )
    received_on = DayField(
        label="Received on",
        error_messages={"required": "Give the day the delivery arrived."},
        initial=timezone.localdate,
        validators=[MinValueValidator(date(2000, 1, 1), "Check the year.")],
    )
    delivery_note = forms.CharField(label="Delivery note", max_length=60, required=False)
    note = forms.CharField(max_length=2000, required=False, widget=forms.Textarea({"rows": 2}))
    all_conform = forms.BooleanField(
        label="All lots conform: containers intact, appearance and smell as they should be",
        required=False,
        help_text="Instead of three ticks at each lot.",
    )
    token = TokenField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if len(sole := Supplier.objects.active()[:2]) == 1:  # nothing to choose
            self.fields["supplier"].initial = sole[0].pk
        self.helper = parts_helper()
        head = Div("supplier", "received_on", "delivery_note", css_class="row")
        self.helper.layout = Layout(head, "note", "all_conform", "token")

    @property
    def head(self) -> dict[str, Any]:
        """What is said of the delivery as a whole."""
        return {name: value for name, value in self.cleaned_data.items() if name != "all_conform"}

    def looked_at(self, arrived: Sequence[ArrivedLot]) -> list[ArrivedLot]:
        """The lots with the three checks found good, where that was said once for all."""
        if not self.cleaned_data["all_conform"]:
            return list(arrived)
        good = partial(replace, seal_is_good=True, look_is_good=True, smell_is_good=True)
        return [good(lot) for lot in arrived]


class RepeatForm(forms.Form):
    """Asked only once a supplier lot turned out to have come before."""

    repeats_agreed = forms.BooleanField(
        label="Yes, it is the same supplier lot again", required=False
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = parts_helper()


class ReceiptLineForm(forms.Form):
    item = forms.TypedChoiceField(
        label="Material or packaging",
        empty_value=None,
        error_messages={"required": "Choose what came in."},
    )
    supplier_lot = forms.CharField(
        label="Supplier lot",
        max_length=60,
        widget=forms.TextInput(attrs={"data-code": True}),
        error_messages={"required": "Copy the supplier's lot from the label."},
    )
    quantity_as_written = forms.CharField(
        label="Quantity, as the delivery note says",
        max_length=40,
        error_messages={"required": "Copy the quantity from the delivery note."},
        help_text="Such as 5 kg, 3 × 5 kg, 2 lb 4 oz, 4 L, 144.",
    )
    makers_expiry = DayField(label="Expiry (or retest) date", required=False)
    cost = ExactField(places=2, least=0, most=10_000_000, required=False)
    is_organic = forms.BooleanField(label="Organic, under the certificate chosen", required=False)
    certificate = forms.TypedChoiceField(
        label="Organic certificate", required=False, empty_value=None
    )
    analysis = DocumentField(label="Certificate of analysis", required=False)
    seal_is_good = forms.BooleanField(label="Container intact", required=False)
    look_is_good = forms.BooleanField(label="Appearance conforms", required=False)
    smell_is_good = forms.BooleanField(
        label="Odour conforms (packaging: leave open)", required=False
    )
    temperature_c = ExactField(
        label="Temperature, °C", places=1, least=-80, most=150, unit="°C", required=False
    )
    checks_note = forms.CharField(label="Note on the checks", max_length=300, required=False)

    def __init__(self, *args: Any, offer: Offer, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._choose("item", offer.items, offer.item_options, "choose what came in")
        self._choose("certificate", offer.certificates, offer.certificate_options, "none")
        self.helper = _line_helper()

    def _choose(
        self, name: str, rows: Mapping[str, Any], options: Sequence[Group], nothing: str
    ) -> None:
        choice = self.fields[name]
        assert isinstance(choice, forms.TypedChoiceField)  # noqa: S101 -- for the type checker
        choice.choices = [("", nothing), *options]
        choice.coerce = picking(rows)

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        item, text = values.get("item"), values.get("quantity_as_written")
        if item and text:
            try:
                values["quantity"] = read_quantity(item, text)
            except RuleError as error:
                self.add_error("quantity_as_written", str(error))
        return values

    @property
    def reading(self) -> str:
        """What the quantity was read as, for the page that comes back."""
        values = self.cleaned_data if self.is_bound and hasattr(self, "cleaned_data") else {}
        return say_reading(values["item"], values["quantity"]) if "quantity" in values else ""


def say_reading(item: Item, quantity: Any) -> str:
    pieces = " pieces" if item.unit == "each" else ""
    return f"read as {formatting.with_unit(quantity, item.unit)}{pieces}"


def _line_helper() -> FormHelper:
    frame = parts_helper()
    frame.layout = Layout(
        Div("item", "supplier_lot", css_class="row"),
        Div("quantity_as_written", "makers_expiry", "cost", css_class="row"),
        Div("certificate", Field("is_organic", wrapper_class="beside"), css_class="row"),
        Div("seal_is_good", "look_is_good", "smell_is_good", css_class="row"),
        Div("temperature_c", "checks_note", css_class="row"),
        "analysis",
    )
    return frame


class BaseLines(forms.BaseFormSet[ReceiptLineForm]):
    """The rows of a receipt; a row left empty is no row."""

    def __init__(self, *args: Any, typed: Sequence[dict[str, Any]] = (), **kwargs: Any) -> None:
        self.typed = typed
        self.asks_about_repeats = False
        super().__init__(*args, **kwargs)

    def get_form_kwargs(self, index: int | None) -> dict[str, Any]:
        kwargs: dict[str, Any] = super().get_form_kwargs(index)
        if index is not None and index < len(self.typed):
            kwargs["initial"] = self.typed[index]
        return kwargs

    @property
    def filled(self) -> list[ReceiptLineForm]:
        return [form for form in self.forms if form.has_changed()]

    def arrived(self) -> list[ArrivedLot]:
        return [ArrivedLot(**form.cleaned_data) for form in self.filled]

    def refuse(self, error: RefusedLines) -> None:
        """Put every fault beside the field it is about."""
        for fault in error.faults:
            name = "quantity_as_written" if fault.field == "quantity" else fault.field
            self.filled[fault.row].add_error(name, fault.sentence)
            self.asks_about_repeats |= fault.asks


def lines_of(offer: Offer, *args: Any, typed: Sequence[dict[str, Any]] = ()) -> BaseLines:
    """The rows as they were sent, or fresh ones that hold what was `typed` and one more."""
    make: Any = forms.formset_factory(
        ReceiptLineForm,
        formset=BaseLines,
        extra=min(len(typed) + 1, MOST_LOTS),
        max_num=MOST_LOTS,
        absolute_max=MOST_LOTS + 1,
        validate_max=True,
    )
    rows: BaseLines = make(
        *args,
        prefix="lines",
        typed=typed,
        form_kwargs={"offer": offer},
        error_messages={
            "too_many_forms": f"One page takes at most {MOST_LOTS} lots; enter the others as a"
            " second receipt.",
            "missing_management_form": "The page came back incomplete. Reload it and type again.",
        },
    )
    return rows


def typed_rows(data: Mapping[str, str]) -> list[dict[str, Any]]:
    """The rows of a page that is only to be shown again, as they were typed."""
    try:
        count = min(int(data.get("lines-TOTAL_FORMS", "0")), MOST_LOTS)
    except ValueError:
        count = 0
    names = [name for name in ReceiptLineForm.base_fields if name != "analysis"]
    rows = [
        {name: data[key] for name in names if (key := f"lines-{row}-{name}") in data}
        for row in range(count)
    ]
    return [row for row in rows if any(row.values())]


class LotDecisionForm(forms.Form):
    """Why a lot is released, held or rejected."""

    reason = forms.CharField(max_length=300, required=False)

    def __init__(self, *args: Any, button: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper(button)
