"""Forms about money."""

from datetime import date
from decimal import Decimal
from typing import Any, cast

from crispy_forms.layout import Field, Layout, Row
from django import forms

from workshop.core.forms import DayField, ExactField, TokenField, helper, parts_helper
from workshop.costs.currencies import CHOICES
from workshop.costs.models import PLACES, PricedPer, SpreadBy
from workshop.costs.services import LinePrice
from workshop.goods_in.models import ReceiptLine
from workshop.ledger.models import Unit

MOST = 10_000_000
MOST_MINUTES = 10_000


class RatesForm(forms.Form):
    from_on = DayField(label="Holds from")
    currency = forms.ChoiceField(label="The workshop's currency", choices=CHOICES)
    labour_per_hour = ExactField(label="An hour of work costs", places=PLACES, least=0, most=MOST)
    overhead_percent = ExactField(
        label="Overhead, % of work",
        places=4,
        least=0,
        most=100_000,
        help_text="Rent, power, wear: what goes with the work at your usual output. 0 for none.",
    )
    token = TokenField()

    def __init__(self, *args: Any, currency: str | None, day: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["from_on"].initial = day
        self.fields["overhead_percent"].initial = Decimal(0)
        if currency:
            self.fields["currency"] = forms.CharField(initial=currency, widget=forms.HiddenInput)
        self.helper = helper("Save these rates")


class ChargesForm(forms.Form):
    """What stands on the invoice besides the goods; the lots stand in `PriceRows` below it."""

    reference = forms.CharField(label="Invoice number", max_length=60, required=False)
    currency = forms.ChoiceField(choices=CHOICES)
    exchange_rate = ExactField(
        label="Exchange rate: one unit in the workshop's currency",
        places=6,
        least=Decimal("0.000001"),
        most=MOST,
        help_text="1 for the workshop's own.",
    )
    freight = ExactField(places=PLACES, least=0, most=MOST, required=False)
    duty = ExactField(label="Duty and fees", places=PLACES, least=0, most=MOST, required=False)
    tax = ExactField(
        label="Recoverable tax",
        places=PLACES,
        least=0,
        most=MOST,
        required=False,
        help_text="Not a cost. Tax you cannot recover belongs in the prices.",
    )
    spread_by = forms.ChoiceField(label="Spread freight and duty", choices=SpreadBy)
    token = TokenField()

    def __init__(self, *args: Any, currency: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["currency"].initial = currency
        self.fields["exchange_rate"].initial = Decimal(1)
        self.helper = parts_helper()
        self.helper.layout = Layout(
            Row(Field("reference"), Field("currency"), Field("exchange_rate")),
            Row(Field("freight"), Field("duty"), Field("tax"), Field("spread_by")),
            "token",
        )

    def clean(self) -> dict[str, Any]:
        values = cast("dict[str, Any]", super().clean())
        return values | {
            name: values.get(name) or Decimal(0) for name in ("freight", "duty", "tax")
        }


class PriceForm(forms.Form):
    """The price of one lot; left empty, the lot stays without one."""

    price = ExactField(places=PLACES, least=0, most=MOST, required=False)
    per = forms.ChoiceField(choices=PricedPer, required=False)
    discount_percent = ExactField(places=4, least=0, most=100, required=False)

    def __init__(self, *args: Any, line: ReceiptLine, **kwargs: Any) -> None:
        kwargs["prefix"] = f"line-{line.pk}"
        super().__init__(*args, **kwargs)
        self.line = line
        unit = "a kilogram" if line.lot.item.unit == Unit.GRAM else "a piece"
        self.fields["per"] = forms.ChoiceField(
            choices=[(PricedPer.LINE, "the whole line"), (PricedPer.UNIT, unit)], required=False
        )
        for name, word in (("price", "Price"), ("per", "Per"), ("discount_percent", "Discount, %")):
            self.fields[name].label = f"{word} of lot {line.lot}"
            self.fields[name].widget.attrs["aria-label"] = self.fields[name].label

    @property
    def priced(self) -> LinePrice | None:
        values = self.cleaned_data
        if values.get("price") is None:
            return None
        return LinePrice(
            values["price"],
            PricedPer(values.get("per") or PricedPer.LINE),
            values.get("discount_percent") or Decimal(0),
        )


class MinutesForm(forms.Form):
    minutes = ExactField(
        label="Minutes of work, all people together", places=0, least=0, most=MOST_MINUTES
    )
    token = TokenField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Save the minutes")


class PriceOfProductForm(forms.Form):
    channel = forms.CharField(
        max_length=40, help_text="Such as: web shop, shops, market. Without tax."
    )
    price = ExactField(label="Price of a unit", places=PLACES, least=0, most=MOST)
    from_on = DayField(label="Holds from")
    token = TokenField()

    def __init__(self, *args: Any, day: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["from_on"].initial = day
        self.helper = helper("Save the price")


class PeriodForm(forms.Form):
    """Two days; what is typed oddly stands beside its field."""

    first = DayField(label="From")
    last = DayField(label="To")

    def clean(self) -> dict[str, Any]:
        values = cast("dict[str, Any]", super().clean())
        if values.get("first") and values.get("last") and values["first"] > values["last"]:
            self.add_error("last", "The last day is not before the first.")
        return values
