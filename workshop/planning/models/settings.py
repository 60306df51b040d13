"""What a week has to work with, and how each thing is stocked and bought."""

from decimal import Decimal
from typing import Self

from django.db import models
from django.db.models import Max, Q

from workshop.core.fields import FixedPointField, QuantityField
from workshop.costs.models import Entry
from workshop.goods_in.models import Supplier
from workshop.ledger.models import Item

NO_DAYS = "0000000"


class Hours(Entry):
    """Hours of work, what takes how long, and how far ahead is made. The latest row counts.

    `days` has a 1 for each weekday on which there is work, from Monday on. The minutes hold where
    no batch or packing run of the kind has minutes of its own in the book.
    """

    hours_a_day = FixedPointField(places=2, default=Decimal(8))
    days = models.CharField(max_length=7, default="1111100")
    weeks_ahead = models.PositiveSmallIntegerField(default=4)
    batches_a_day = models.PositiveSmallIntegerField(default=1)
    batch_minutes = models.PositiveSmallIntegerField(default=120)
    units_an_hour = models.PositiveSmallIntegerField(default=40)
    cleaning_minutes = models.PositiveSmallIntegerField(default=30)
    racks_hold_g = QuantityField(null=True, blank=True)

    class Meta(Entry.Meta):
        verbose_name_plural = "hours"
        constraints = [
            models.CheckConstraint(
                name="hours_are_possible",
                condition=Q(hours_a_day__gt=0, weeks_ahead__gt=0, weeks_ahead__lte=26)
                & Q(batches_a_day__gt=0, units_an_hour__gt=0),
                violation_error_message="Hours, weeks, batches and units are above zero.",
            ),
            models.CheckConstraint(name="hours_have_a_day", condition=~Q(days=NO_DAYS)),
            models.CheckConstraint(
                name="hours_racks_not_negative",
                condition=Q(racks_hold_g=None) | Q(racks_hold_g__gte=0),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.hours_a_day} hours a day"


class TermsQuerySet(models.QuerySet["Terms"]):
    def latest_of_each(self) -> Self:
        """Of each item the row that counts: the one entered last."""
        last = self.model.objects.order_by().values("item").annotate(last=Max("pk"))
        return self.filter(pk__in=last.values("last"))


class Terms(Entry):
    """How an item is stocked and bought, or a product wanted. The latest row of an item counts."""

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="terms")
    minimum_stock = QuantityField(default=0)
    supplier = models.ForeignKey(
        Supplier, on_delete=models.PROTECT, related_name="terms", null=True, blank=True
    )
    lead_days = models.PositiveSmallIntegerField(null=True, blank=True)
    pack_size = QuantityField(null=True, blank=True)
    order_least = QuantityField(null=True, blank=True)
    # What an owner expects of a week, instead of what the dispatches say.
    wanted_per_week = FixedPointField(places=3, null=True, blank=True)
    # What one order costs, in the workshop's currency, and holding stock for a year, of its value.
    order_cost = FixedPointField(places=4, null=True, blank=True)
    holding_percent = FixedPointField(places=2, null=True, blank=True)
    # Of a batch of this bulk, or a packing run of this product, instead of what past ones took.
    usual_minutes = models.PositiveSmallIntegerField(null=True, blank=True)

    objects = TermsQuerySet.as_manager()

    class Meta(Entry.Meta):
        verbose_name_plural = "terms"
        constraints = [
            models.CheckConstraint(
                name="terms_amounts_are_possible",
                condition=Q(minimum_stock__gte=0)
                & (Q(pack_size=None) | Q(pack_size__gt=0))
                & (Q(order_least=None) | Q(order_least__gte=0))
                & (Q(wanted_per_week=None) | Q(wanted_per_week__gte=0)),
                violation_error_message="No amount is below zero, and a pack holds something.",
            ),
            models.CheckConstraint(
                name="terms_costs_are_possible",
                condition=(Q(order_cost=None) | Q(order_cost__gt=0))
                & (Q(holding_percent=None) | Q(holding_percent__gt=0)),
                violation_error_message="An order and holding stock cost something.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item}: at least {self.minimum_stock}"
