"""Forms of planning: hours, terms, orders either way, and the end of one."""

from datetime import timedelta
from decimal import Decimal
from typing import Any, cast

from crispy_forms.layout import Field, Layout, Row
from django import forms
from django.utils import timezone

from workshop.core.forms import DayField, ExactField, TokenField, helper, parts_helper
from workshop.dispatch.models import Customer
from workshop.goods_in.models import Supplier
from workshop.ledger.models import Item, ItemKind, Unit
from workshop.planning.models import Hours, Terms
from workshop.planning.orders.order_files import REQUIRED, guessed
from workshop.planning.services import HoursFacts, TermsFacts

MOST = 10_000_000
OF_WHAT_IS_BOUGHT = (
    "supplier", "lead_days", "pack_size", "order_least", "order_cost", "holding_percent",
)  # fmt: skip
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def _whole(label: str, least: int, most: int, **more: Any) -> ExactField:
    return ExactField(label=label, places=0, least=least, most=most, **more)


class HoursForm(forms.Form):
    """Hours and capacity."""

    hours_a_day = ExactField(
        label="Hours of work a day, all people together", places=2, least=Decimal("0.25"), most=500
    )
    days = forms.MultipleChoiceField(
        label="Days of work",
        choices=[(str(n), word) for n, word in enumerate(WEEKDAYS)],
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one day of work."},
    )
    weeks_ahead = _whole(
        "Plan ahead for, weeks", 1, 26, help_text="From the end of the planned week on."
    )
    batches_a_day = _whole("Batches per kettle per day", 1, 12)
    batch_minutes = _whole(
        "Minutes of work per batch",
        1,
        2000,
        help_text="Until minutes of work are entered for batches of its kind.",
    )
    units_an_hour = _whole(
        "Units packed per hour", 1, 5000, help_text="Likewise, until minutes are entered."
    )
    cleaning_minutes = _whole("Minutes to clean a kettle", 0, 600)
    racks_hold_g = ExactField(
        label="Capacity of all racks, g",
        places=3,
        least=0,
        most=MOST,
        required=False,
        help_text="If left empty, racks are not a limit.",
    )
    token = TokenField()

    def __init__(self, *args: Any, now: Hours, **kwargs: Any) -> None:
        names = [name for name in HoursFacts.__dataclass_fields__ if name != "days"]
        initial = {name: _shown(getattr(now, name)) for name in names}
        initial["days"] = [str(place) for place, one in enumerate(now.days) if one == "1"]
        kwargs["initial"] = initial
        super().__init__(*args, **kwargs)
        self.helper = helper("Save these hours")

    @property
    def facts(self) -> HoursFacts:
        values = {name: value for name, value in self.cleaned_data.items() if name != "token"}
        days = "".join("1" if str(n) in values["days"] else "0" for n in range(len(WEEKDAYS)))
        whole = ("weeks_ahead", "batches_a_day", "batch_minutes", "units_an_hour")
        numbers = {name: int(values[name]) for name in (*whole, "cleaning_minutes")}
        return HoursFacts(**{**values, **numbers, "days": days})


def _shown(value: Any) -> Any:
    return Decimal(value) if isinstance(value, int) else value


class TermsForm(forms.Form):
    """How an item is stocked; what is bought, how; a product, what is wanted of it."""

    minimum_stock = ExactField(places=3, least=0, most=MOST)
    supplier = forms.ModelChoiceField(
        Supplier.objects.active(), required=False, empty_label="nobody in particular"
    )
    lead_days = _whole("Days from the order until it is here", 0, 365, required=False)
    pack_size = ExactField(places=3, least=Decimal("0.001"), most=MOST, required=False)
    order_least = ExactField(places=3, least=0, most=MOST, required=False)
    wanted_per_week = ExactField(
        label="Wanted in a week, in units",
        places=3,
        least=0,
        most=MOST,
        required=False,
        help_text="In the place of what the dispatches say. Left empty, they are followed.",
    )
    order_cost = ExactField(
        places=4, least=Decimal("0.0001"), most=1_000_000, required=False,
        help_text="The work to write, receive and check it, and freight that does not grow with "
        "the amount.",
    )  # fmt: skip
    holding_percent = ExactField(
        label="Holding it for a year costs, in % of its value", places=2, least=Decimal("0.01"),
        most=500, required=False,
        help_text="Interest, room, insurance and what spoils. 15 to 30 % is usual.",
    )  # fmt: skip
    usual_minutes = _whole("Minutes of work", 1, 2000, required=False)
    token = TokenField()

    def __init__(
        self, *args: Any, item: Item, now: Terms | None, currency: str = "", **kwargs: Any
    ) -> None:
        names = list(TermsFacts.__dataclass_fields__)
        kwargs["initial"] = {name: _shown(getattr(now, name)) for name in names} if now else {}
        if now and now.supplier_id:
            kwargs["initial"]["supplier"] = now.supplier_id
        kwargs["initial"].setdefault("minimum_stock", Decimal(0))
        super().__init__(*args, **kwargs)
        unit = "grams" if item.unit == Unit.GRAM else "pieces"
        self.fields["minimum_stock"].label = f"Never less in stock than, in {unit}"
        self.fields["pack_size"].label = f"Sold in packs of, in {unit}"
        self.fields["order_least"].label = f"Not ordered in less than, in {unit}"
        bought = item.kind in (ItemKind.MATERIAL, ItemKind.PACKAGING)
        money = f", in {currency}" if currency else ""
        self.fields["order_cost"].label = f"One order costs{money}"
        what = "batch" if item.kind == ItemKind.BULK else "packing run"
        self.fields["usual_minutes"].label = f"Minutes of work a {what} takes"
        self.fields[
            "usual_minutes"
        ].help_text = "In the place of what past ones took. Left empty, they are followed."
        for name in ("usual_minutes",) if bought else OF_WHAT_IS_BOUGHT:
            del self.fields[name]
        if item.kind != ItemKind.PRODUCT:
            del self.fields["wanted_per_week"]
        self.helper = helper("Save")

    @property
    def facts(self) -> TermsFacts:
        values = {name: value for name, value in self.cleaned_data.items() if name != "token"}
        for name in ("lead_days", "usual_minutes"):
            if values.get(name) is not None:
                values[name] = int(values[name])
        return TermsFacts(**values)


class OrderForm(forms.Form):
    """A customer's order, entered by hand; its products stand in rows below."""

    number = forms.CharField(label="Order number", max_length=60)
    customer = forms.ModelChoiceField(
        Customer.objects.active(),
        empty_label="choose the customer",
        error_messages={"required": "Choose the customer."},
    )
    ordered_on = DayField(label="Ordered on")
    due_on = DayField(label="Due on")
    token = TokenField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["ordered_on"].initial = timezone.localdate
        self.helper = parts_helper()
        self.helper.layout = Layout(
            Row(Field("number"), Field("customer")),
            Row(Field("ordered_on"), Field("due_on")),
            "token",
        )


class OrderLineForm(forms.Form):
    """One product of an order; left empty, it is none."""

    item = forms.ModelChoiceField(Item.objects.none(), required=False, empty_label="no product")
    units = _whole("Units", 1, 1_000_000, required=False)

    def __init__(self, *args: Any, products: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = cast("forms.ModelChoiceField[Item]", self.fields["item"])
        field.queryset = products
        field.label = "Product"
        self.helper = parts_helper()

    def clean(self) -> dict[str, Any]:
        values = cast("dict[str, Any]", super().clean())
        if values.get("item") and not values.get("units") and "units" not in self.errors:
            self.add_error("units", "Say how many.")
        if values.get("units") and not values.get("item") and "item" not in self.errors:
            self.add_error("item", "Say of which product.")
        return values


class OrderFileForm(forms.Form):
    """A file of orders."""

    file = forms.FileField(
        label="CSV file", help_text="With a row of headings, up to 1 MB. Nothing is kept of it yet."
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Look at it")
        self.helper.attrs = {"enctype": "multipart/form-data"}


class OrderColumnsForm(forms.Form):
    """Which column of a file says what, and what holds where none does."""

    number = forms.ChoiceField(label="Order number")
    product = forms.ChoiceField(label="Product: code, GTIN or name")
    units = forms.ChoiceField(label="Quantity")
    customer = forms.ChoiceField(label="Customer", required=False)
    for_customer = forms.ModelChoiceField(
        Customer.objects.active(), required=False, empty_label="by the column", label="Or all for"
    )
    due_on = forms.ChoiceField(label="Due day", required=False)
    due_anyway = DayField(label="Where none is named", required=False)
    text = forms.CharField(widget=forms.HiddenInput, max_length=1_100_000, strip=False)
    token = TokenField()

    def __init__(self, *args: Any, heads: list[str], **kwargs: Any) -> None:
        kwargs["initial"] = {**guessed(heads), **kwargs.get("initial", {})}
        super().__init__(*args, **kwargs)
        choices = [(str(place), head or f"column {place + 1}") for place, head in enumerate(heads)]
        for name in ("number", "product", "units", "customer", "due_on"):
            field = cast(forms.ChoiceField, self.fields[name])
            field.choices = choices if name in REQUIRED else [("", "none"), *choices]
        self.fields["due_anyway"].initial = timezone.localdate() + timedelta(days=7)
        self.helper = parts_helper()
        self.helper.layout = Layout(
            Row(Field("number"), Field("product"), Field("units")),
            Row(Field("customer"), Field("for_customer")),
            Row(Field("due_on"), Field("due_anyway")),
            "text",
            "token",
        )

    def clean(self) -> dict[str, Any]:
        values = cast("dict[str, Any]", super().clean())
        if values.get("customer") and values.get("for_customer"):
            values["customer"] = ""  # one customer for all was chosen on purpose
        if not values.get("customer") and not values.get("for_customer"):
            self.add_error("customer", "Choose the column, or one customer for all.")
        if not values.get("due_on") and not values.get("due_anyway"):
            self.add_error("due_anyway", "Give the day, or the column that names it.")
        return values

    @property
    def columns(self) -> dict[str, int]:
        names = ("number", "product", "units", "customer", "due_on")
        return {name: int(self.cleaned_data[name]) for name in names if self.cleaned_data[name]}


class ReasonForm(forms.Form):
    """Why an order is closed."""

    reason = forms.CharField(label="Why the order is closed", max_length=300)
    token = TokenField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Close the order")


class TokenOnlyForm(forms.Form):
    """One press that does something once."""

    token = TokenField()

    def __init__(self, *args: Any, button: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper(button)


class PurchaseHeadForm(forms.Form):
    """The days and the note of orders that are being written."""

    note = forms.CharField(label="Note on the orders", max_length=300, required=False)
    token = TokenField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = parts_helper()
