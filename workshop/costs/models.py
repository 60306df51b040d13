"""Rates, invoices of deliveries, minutes of work and prices: rows that are added, never changed.

The latest row counts; the earlier ones tell what was reckoned with before.
"""

from datetime import date
from typing import Any, Self

from django.conf import settings
from django.db import models
from django.db.models import Max, Q

from workshop.core.fields import FixedPointField, PercentField
from workshop.goods_in.models import Receipt, ReceiptLine
from workshop.ledger.models import Item, ItemKind, Operation

# No currency has a smaller unit than a ten-thousandth.
PLACES = 4


class AmountField(FixedPointField):
    """An amount of money, to a ten-thousandth of any currency's unit."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("places", PLACES)
        super().__init__(*args, **kwargs)


class SpreadBy(models.TextChoices):
    VALUE = "value", "by value"
    WEIGHT = "weight", "by weight"


class PricedPer(models.TextChoices):
    LINE = "line", "the whole line"
    UNIT = "unit", "a kilogram or a piece"


class Entry(models.Model):
    """Who entered a row, and when; its token makes sending the form twice harmless."""

    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    token = models.CharField(max_length=64, unique=True)

    class Meta:
        abstract = True
        ordering = ["pk"]


class RatesQuerySet(models.QuerySet["Rates"]):
    def on(self, day: date) -> "Rates | None":
        """What held on that day: the row entered last of those that hold from the latest day."""
        return self.filter(from_on__lte=day).order_by("from_on", "pk").last()


class Rates(Entry):
    """The workshop's currency, what an hour of work costs, and the overhead that goes with it."""

    from_on = models.DateField()
    currency = models.CharField(max_length=3)
    labour_per_hour = AmountField()
    overhead_percent = PercentField(default=0)

    objects = RatesQuerySet.as_manager()

    class Meta(Entry.Meta):
        constraints = [
            models.CheckConstraint(
                name="rates_not_negative",
                condition=Q(labour_per_hour__gte=0, overhead_percent__gte=0),
                violation_error_message="A rate is not below zero.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.labour_per_hour} {self.currency} an hour from {self.from_on}"


class InvoiceQuerySet(models.QuerySet["Invoice"]):
    def latest_of_each(self) -> Self:
        """The invoice that counts for each receipt: the one entered last."""
        last = self.model.objects.order_by().values("receipt").annotate(last=Max("pk"))
        return self.filter(pk__in=last.values("last"))


class Invoice(Entry):
    """What the supplier and the carrier asked for one delivery. Tax that is paid back is apart."""

    receipt = models.ForeignKey(Receipt, on_delete=models.PROTECT, related_name="invoices")
    reference = models.CharField(max_length=60, blank=True)
    currency = models.CharField(max_length=3)
    # How many units of the workshop's currency one unit of the invoice's was.
    exchange_rate = FixedPointField(places=6, default=1)
    freight = AmountField(default=0)
    duty = AmountField(default=0)
    tax = AmountField(default=0)
    spread_by = models.CharField(max_length=6, choices=SpreadBy, default=SpreadBy.VALUE)

    objects = InvoiceQuerySet.as_manager()

    class Meta(Entry.Meta):
        constraints = [
            models.CheckConstraint(
                name="invoice_amounts_not_negative",
                condition=Q(freight__gte=0, duty__gte=0, tax__gte=0, exchange_rate__gt=0),
                violation_error_message="An amount is not below zero.",
            ),
            models.CheckConstraint(
                name="invoice_spread_is_known", condition=Q(spread_by__in=SpreadBy.values)
            ),
        ]

    def __str__(self) -> str:
        return self.reference or f"Invoice of {self.receipt}"


class InvoiceLine(models.Model):
    """What one lot of the delivery was charged at."""

    invoice = models.ForeignKey(Invoice, on_delete=models.PROTECT, related_name="lines")
    line = models.ForeignKey(ReceiptLine, on_delete=models.PROTECT, related_name="prices")
    price = AmountField()
    per = models.CharField(max_length=4, choices=PricedPer, default=PricedPer.LINE)
    discount_percent = PercentField(default=0)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["invoice", "line"], name="invoice_line_once"),
            models.CheckConstraint(
                name="invoice_line_amounts",
                condition=Q(price__gte=0, discount_percent__gte=0, discount_percent__lte=100),
                violation_error_message="A price is not below zero, a discount at most 100 %.",
            ),
            models.CheckConstraint(
                name="invoice_line_per_is_known", condition=Q(per__in=PricedPer.values)
            ),
        ]

    def __str__(self) -> str:
        return f"{self.line}: {self.price}"


class WorkTimeQuerySet(models.QuerySet["WorkTime"]):
    def latest_of_each(self) -> Self:
        last = self.model.objects.order_by().values("operation").annotate(last=Max("pk"))
        return self.filter(pk__in=last.values("last"))


class WorkTime(Entry):
    """How many minutes of work a batch or a packing run took, all people together."""

    operation = models.ForeignKey(Operation, on_delete=models.PROTECT, related_name="work_times")
    minutes = models.PositiveIntegerField()

    objects = WorkTimeQuerySet.as_manager()

    def __str__(self) -> str:
        return f"{self.operation}: {self.minutes} min"


class SalesPriceQuerySet(models.QuerySet["SalesPrice"]):
    def on(self, day: date) -> dict[tuple[int, str], "SalesPrice"]:
        """The price of each product and channel on that day; one query."""
        rows = self.filter(from_on__lte=day).order_by("from_on", "pk").select_related("item")
        return {(row.item_id, row.channel): row for row in rows}


class SalesPrice(Entry):
    """What a unit of a product is sold for in one channel, without tax, from a day on."""

    item = models.ForeignKey(
        Item,
        on_delete=models.PROTECT,
        related_name="sales_prices",
        limit_choices_to={"kind": ItemKind.PRODUCT},
    )
    channel = models.CharField(max_length=40)
    price = AmountField()
    from_on = models.DateField()

    objects = SalesPriceQuerySet.as_manager()

    class Meta(Entry.Meta):
        constraints = [
            models.CheckConstraint(
                name="sales_price_not_negative",
                condition=Q(price__gte=0),
                violation_error_message="A price is not below zero.",
            ),
            models.CheckConstraint(name="sales_price_has_a_channel", condition=~Q(channel="")),
        ]

    def __str__(self) -> str:
        return f"{self.item}, {self.channel}: {self.price}"
