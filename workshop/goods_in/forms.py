"""The receipt form: its head, and any number of lots on one page."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Div, Layout
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
from workshop.goods_in.delivery_checks import RefusedLines
from workshop.goods_in.models import Certificate, Supplier
from workshop.goods_in.named_items import (
    Goods,
    KnownGoods,
    bought_under,
    read_quantity,
    unit_of,
)
from workshop.goods_in.services.named_receipts import NamedLot
from workshop.ledger.models import Item, ItemKind
from workshop.rules.codes.gs1 import gtin14
from workshop.rules.codes.supplier_label import SupplierLabel, read_supplier_label
from workshop.rules.errors import RuleError

MOST_LOTS = 40
ROWS_AT_FIRST = 4
NOT_ORGANIC = "no"
NOTHING_ORGANIC = "none: nothing is taken as organic"
# A fault of the service, and the field of the table that it belongs to.
IN_THE_TABLE = {
    "quantity": "quantity_as_written",
    "certificate": "organic",
    "is_organic": "organic",
}
UNUSUAL = (
    *("cost", "organic", "is_apart", "seal_is_good", "look_is_good", "smell_is_good"),
    *("temperature_c", "checks_note", "analysis", "is_left_out"),
)
Option = tuple[str, str]
Group = tuple[str, list[Option]]


@dataclass(frozen=True)
class Offer:
    """What the rows of one page may choose from, read once for all of them."""

    goods: KnownGoods
    certificates: Mapping[str, Certificate]
    certificate_options: Sequence[Group] = field(default_factory=list)

    @classmethod
    def on(cls, day: date, *, with_usual: bool = False) -> "Offer":
        # A delivery may be entered late; what lapsed more than a year ago is in nobody's way.
        recent = Certificate.objects.filter(valid_to__gte=day - timedelta(days=366))
        rows = recent.select_related("supplier").order_by("supplier__name", "-valid_to", "number")
        certificates = {str(row.pk): row for row in rows}
        return cls(
            KnownGoods.now(with_usual=with_usual),
            certificates,
            grouped(
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


def choose(
    form: forms.Form,
    name: str,
    rows: Mapping[str, Any],
    options: Sequence[Group],
    nothing: str,
) -> None:
    """Let a field of the form choose one of the rows, or nothing."""
    choice = form.fields[name]
    assert isinstance(choice, forms.TypedChoiceField)  # noqa: S101 -- for the type checker
    choice.choices = [("", nothing), *options]
    choice.coerce = picking(rows)


def grouped(rows: Mapping[str, tuple[str, str]]) -> list[Group]:
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
    certificate = forms.TypedChoiceField(
        label="Organic certificate",
        required=False,
        empty_value=None,
        help_text="Lots of what it covers come in as organic.",
    )
    note = forms.CharField(max_length=2000, required=False, widget=forms.Textarea({"rows": 2}))
    all_conform = forms.BooleanField(
        label="All lots conform: containers intact, appearance and smell as they should be",
        required=False,
    )
    token = TokenField()

    def __init__(self, *args: Any, offer: Offer, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choose(self, "certificate", offer.certificates, offer.certificate_options, NOTHING_ORGANIC)
        if len(sole := Supplier.objects.active()[:2]) == 1:  # nothing to choose
            self.fields["supplier"].initial = sole[0].pk
        self.helper = parts_helper()
        head = Div("supplier", "received_on", "delivery_note", css_class="row")
        self.helper.layout = Layout(head, "certificate", "token")

    @property
    def head(self) -> dict[str, Any]:
        """What is said of the delivery as a whole."""
        return {name: value for name, value in self.cleaned_data.items() if name != "all_conform"}


class RepeatForm(forms.Form):
    """Asked only once a supplier lot turned out to have come before."""

    repeats_agreed = forms.BooleanField(
        label="Yes, it is the same supplier lot again", required=False
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = parts_helper()


class ReceiptLineForm(forms.Form):
    """One row of the table; what is unusual of its lot folds out below it."""

    item = forms.CharField(
        label="Material or packaging",
        max_length=300,
        widget=forms.TextInput(
            attrs={
                "list": "known",
                "autocomplete": "off",
                "data-code": True,
                "placeholder": "What came in",
            }
        ),
        error_messages={"required": "Enter what was received."},
    )
    supplier_lot = forms.CharField(
        label="Supplier lot",
        max_length=60,
        required=False,
        widget=forms.TextInput(attrs={"data-code": True, "autocomplete": "off"}),
    )
    quantity_as_written = forms.CharField(
        label="Quantity, as written",
        max_length=40,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        error_messages={"required": "Copy the quantity from the delivery note."},
    )
    makers_expiry = DayField(label="Expiry or retest", required=False)
    supplier_gtin = forms.CharField(max_length=20, required=False, widget=forms.HiddenInput)
    cost = ExactField(places=2, least=0, most=10_000_000, required=False)
    organic = forms.TypedChoiceField(label="Organic", required=False, empty_value=None)
    is_apart = forms.BooleanField(label="Not like the others: these ticks count", required=False)
    seal_is_good = forms.BooleanField(label="Container intact", required=False)
    look_is_good = forms.BooleanField(label="Appearance conforms", required=False)
    smell_is_good = forms.BooleanField(
        label="Odour conforms (packaging: leave open)", required=False
    )
    temperature_c = ExactField(
        label="Temperature, °C", places=1, least=-80, most=150, unit="°C", required=False
    )
    checks_note = forms.CharField(label="Note on the checks", max_length=300, required=False)
    analysis = DocumentField(label="Certificate of analysis", required=False)
    is_left_out = forms.BooleanField(label="Leave this row out", required=False)

    def __init__(self, *args: Any, offer: Offer, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.offer = offer
        options = [("", [(NOT_ORGANIC, "not organic")]), *offer.certificate_options]
        choices = {NOT_ORGANIC: NOT_ORGANIC, **offer.certificates}
        choose(self, "organic", choices, options, "as chosen for the delivery")
        self.helper = _unusual_helper()

    def clean_item(self) -> Goods:
        said = self.cleaned_data["item"]
        try:
            return self.offer.goods.find(said)
        except RuleError as error:
            return self._scanned(said, error)

    def _scanned(self, said: str, not_named: RuleError) -> Item:
        """What the code on a container stands for, where one was scanned into the name."""
        try:
            self.label = read_supplier_label(said)
        except RuleError:
            raise forms.ValidationError(str(not_named)) from not_named
        item = bought_under(self.label.gtin)
        if item is None:
            raise forms.ValidationError(
                f"No container with the number {self.label.gtin} came in yet. Write what is in it."
            )
        return item

    label: SupplierLabel | None = None

    def clean_supplier_gtin(self) -> str:
        """Hidden, so that one that is none is dropped, not told of."""
        try:
            return gtin14(self.cleaned_data["supplier_gtin"])
        except RuleError:
            return ""

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        goods = values.get("item")
        if self.label:
            values["supplier_gtin"] = self.label.gtin
            values["supplier_lot"] = values.get("supplier_lot") or self.label.lot
            values["makers_expiry"] = values.get("makers_expiry") or self.label.good_until
        if goods and not values.get("supplier_lot") and not is_packaging(goods):
            self.add_error("supplier_lot", "Copy the supplier's lot from the label.")
        text = values.get("quantity_as_written")
        if goods and text:
            try:
                values["quantity"] = read_quantity(goods, text)
            except RuleError as error:
                self.add_error("quantity_as_written", str(error))
        return values

    @property
    def reading(self) -> str:
        """What the quantity was read as, for the page that comes back."""
        values = self.cleaned_data if self.is_bound and hasattr(self, "cleaned_data") else {}
        return say_reading(values["item"], values["quantity"]) if "quantity" in values else ""

    @property
    def is_unusual(self) -> bool:
        """Whether what is folded away has something to show."""
        return any(self[name].value() or self[name].errors for name in UNUSUAL)

    def lot(self, head: Mapping[str, Any]) -> NamedLot:
        """The row with what was said once for the whole delivery."""
        values = dict(self.cleaned_data)
        goods, organic = values.pop("item"), values.pop("organic")
        is_apart, _ = values.pop("is_apart"), values.pop("is_left_out")
        if head["all_conform"] and not is_apart:
            values |= dict.fromkeys(("seal_is_good", "look_is_good", "smell_is_good"), True)
        # Tins rarely have a lot: the delivery itself tells them apart.
        came = f"came {head['received_on']:%Y-%m-%d}"
        values["supplier_lot"] = values["supplier_lot"] or head["delivery_note"].strip() or came
        if organic is None:
            return NamedLot(goods, values, head["certificate"], follows=True)
        return NamedLot(goods, values, None if organic == NOT_ORGANIC else organic)


def is_packaging(goods: Goods) -> bool:
    return isinstance(goods, Item) and goods.kind == ItemKind.PACKAGING


def say_reading(goods: Goods, quantity: Any) -> str:
    unit = unit_of(goods)
    pieces = " pieces" if unit == "each" else ""
    return f"read as {formatting.with_unit(quantity, unit)}{pieces}"


def _unusual_helper() -> FormHelper:
    frame = parts_helper()
    frame.layout = Layout(
        "is_left_out",
        Div("cost", "organic", css_class="row"),
        "is_apart",
        Div("seal_is_good", "look_is_good", "smell_is_good", css_class="row"),
        Div("temperature_c", "checks_note", css_class="row"),
        "analysis",
    )
    return frame


class BaseLines(forms.BaseFormSet[ReceiptLineForm]):
    """The rows of a receipt; a row left empty is no row."""

    def __init__(
        self, *args: Any, offer: Offer, typed: Sequence[dict[str, Any]] = (), **kwargs: Any
    ) -> None:
        self.typed, self.offer = typed, offer
        self.asks_about_repeats = False
        super().__init__(*args, **kwargs)

    def get_form_kwargs(self, index: int | None) -> dict[str, Any]:
        kwargs: dict[str, Any] = super().get_form_kwargs(index)
        if index is not None and index < len(self.typed):
            kwargs["initial"] = self.typed[index]
        return kwargs

    @property
    def filled(self) -> list[ReceiptLineForm]:
        return [form for form in self.forms if form.has_changed() and not is_left_out(form)]

    def lots(self, head: Mapping[str, Any]) -> list[NamedLot]:
        return [form.lot(head) for form in self.filled]

    def refuse(self, error: RefusedLines, head: ReceiptForm) -> None:
        """Put every fault beside the field it is about: about a claim, where it was chosen."""
        for fault in error.faults:
            form, name = self.filled[fault.row], IN_THE_TABLE.get(fault.field, fault.field)
            self.asks_about_repeats |= fault.asks
            if name == "organic" and form.cleaned_data["organic"] is None:
                if not head.has_error("certificate"):
                    head.add_error("certificate", fault.sentence)
            else:
                form.add_error(name, fault.sentence)

    def full_clean(self) -> None:
        """A row that is left out is not judged."""
        super().full_clean()
        for form, faults in zip(self.forms, self.errors, strict=False) if self.is_bound else ():
            if is_left_out(form):
                faults.clear()


def is_left_out(form: ReceiptLineForm) -> bool:
    return bool(form["is_left_out"].value())


def lines_of(offer: Offer, *args: Any, typed: Sequence[dict[str, Any]] = ()) -> BaseLines:
    """The rows as they were sent, or fresh ones that hold what was `typed` and one more."""
    make: Any = forms.formset_factory(
        ReceiptLineForm,
        formset=BaseLines,
        extra=min(max(len(typed) + 1, ROWS_AT_FIRST), MOST_LOTS),
        max_num=MOST_LOTS,
        absolute_max=MOST_LOTS + 1,
        validate_max=True,
    )
    rows: BaseLines = make(
        *args,
        prefix="lines",
        typed=typed,
        offer=offer,
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
