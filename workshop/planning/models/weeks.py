"""Weeks that were accepted: which batch on which day, from which lots, and what is packed when."""

from typing import Self

from django.db import models
from django.db.models import Exists, OuterRef, Q

from workshop.core.fields import QuantityField
from workshop.costs.models import Entry
from workshop.kettle.models import Batch, BatchState
from workshop.ledger.models import Item, ItemKind, Lot
from workshop.packing.models import PackingRun


class AcceptedWeek(Entry):
    """A week as somebody accepted it."""

    monday = models.DateField()

    class Meta(Entry.Meta):
        indexes = [models.Index(fields=["monday"], name="accepted_week_monday")]

    def __str__(self) -> str:
        return f"week of {self.monday}"


class PlannedBatch(models.Model):
    """A batch that a week planned, and its day."""

    week = models.ForeignKey(AcceptedWeek, on_delete=models.PROTECT, related_name="batches")
    batch = models.OneToOneField(Batch, on_delete=models.PROTECT, related_name="planned")
    day = models.DateField()
    why = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["day", "pk"]

    def __str__(self) -> str:
        return f"{self.batch} on {self.day}"


class ReservationQuerySet(models.QuerySet["Reservation"]):
    def standing(self) -> Self:
        """Those of batches that are not poured, closed or stopped."""
        waiting = (BatchState.PLANNED, BatchState.UNDER_WAY)
        return self.filter(planned__batch__state__in=waiting)


class Reservation(models.Model):
    """So much of a lot is meant for a planned batch, until it is poured or stopped."""

    planned = models.ForeignKey(PlannedBatch, on_delete=models.PROTECT, related_name="reserved")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="reserved")
    quantity = QuantityField()

    objects = ReservationQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["planned", "lot"], name="reservation_lot_once"),
            models.CheckConstraint(name="reservation_is_something", condition=Q(quantity__gt=0)),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} of {self.lot} for {self.planned.batch}"


class PlannedRunQuerySet(models.QuerySet["PlannedRun"]):
    def waiting(self) -> Self:
        """Those of whose product no run was begun since the week was accepted."""
        begun = PackingRun.objects.filter(
            product__item=OuterRef("item"), operation__opened_at__gte=OuterRef("week__at")
        )
        return self.filter(~Exists(begun))


class PlannedRun(models.Model):
    """Units of a product that a week means to pack on a day."""

    week = models.ForeignKey(AcceptedWeek, on_delete=models.PROTECT, related_name="runs")
    item = models.ForeignKey(
        Item,
        on_delete=models.PROTECT,
        related_name="+",
        limit_choices_to={"kind": ItemKind.PRODUCT},
    )
    day = models.DateField()
    units = models.PositiveIntegerField()
    why = models.CharField(max_length=300, blank=True)

    objects = PlannedRunQuerySet.as_manager()

    class Meta:
        ordering = ["day", "pk"]
        constraints = [models.CheckConstraint(name="planned_run_units", condition=Q(units__gt=0))]

    def __str__(self) -> str:
        return f"{self.units} {self.item} on {self.day}"
