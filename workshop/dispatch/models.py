"""Customers, dispatches and returns."""

from decimal import Decimal
from typing import Self

from django.db import models
from django.db.models import Count, Max, OuterRef, Q, Subquery, Sum
from django.db.models.functions import Coalesce
from simple_history.models import HistoricalRecords

from workshop.core.fields import QuantityField
from workshop.ledger.models import Operation, Posting


class CustomerQuerySet(models.QuerySet["Customer"]):
    def active(self) -> Self:
        return self.filter(is_active=True)

    def with_dispatches(self) -> Self:
        """Annotate how often goods were sent to them, and when last."""
        return self.annotate(
            sent=Count("dispatches"), last_sent=Max("dispatches__sent_on")
        ).order_by("name")

    def mentioning(self, text: str) -> Self:
        return self.filter(Q(name__icontains=text) | Q(contact__icontains=text))


class Customer(models.Model):
    name = models.CharField(
        max_length=120,
        unique=True,
        error_messages={"unique": "There is already a customer of this name."},
    )
    contact = models.CharField(max_length=120, blank=True)
    address = models.TextField(blank=True)
    email = models.EmailField(blank=True)
    telephone = models.CharField(max_length=40, blank=True)
    is_active = models.BooleanField(default=True)

    history = HistoricalRecords()
    objects = CustomerQuerySet.as_manager()

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class DispatchQuerySet(models.QuerySet["Dispatch"]):
    def with_units(self) -> Self:
        """Annotate the change of stock by the dispatch itself and by what came back since."""
        return self.annotate(
            sent_change=_sum_by("operation", operation=OuterRef("operation")),
            back_change=_sum_by(
                "operation__returned__dispatch", operation__returned__dispatch=OuterRef("pk")
            ),
        )

    def mentioning(self, text: str) -> Self:
        return self.filter(
            Q(operation__reference__icontains=text)
            | Q(customer_reference__icontains=text)
            | Q(customer__name__icontains=text)
        )


class Dispatch(models.Model):
    operation = models.OneToOneField(Operation, on_delete=models.PROTECT, related_name="dispatch")
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="dispatches")
    customer_reference = models.CharField(max_length=60, blank=True, db_index=True)
    sent_on = models.DateField()
    note = models.TextField(blank=True)

    objects = DispatchQuerySet.as_manager()
    sent_change: Decimal
    back_change: Decimal

    class Meta:
        ordering = ["-sent_on", "-pk"]
        verbose_name_plural = "dispatches"

    def __str__(self) -> str:
        return self.operation.reference

    @property
    def units_sent(self) -> Decimal:
        return -self.sent_change

    @property
    def units_back(self) -> Decimal:
        return self.back_change


class Return(models.Model):
    """Units that came back from one dispatch."""

    operation = models.OneToOneField(Operation, on_delete=models.PROTECT, related_name="returned")
    dispatch = models.ForeignKey(Dispatch, on_delete=models.PROTECT, related_name="returns")
    returned_on = models.DateField()
    reason = models.CharField(max_length=300)

    class Meta:
        ordering = ["-returned_on", "-pk"]
        constraints = [
            models.CheckConstraint(
                name="return_says_why",
                condition=~Q(reason=""),
                violation_error_message="Say why it came back.",
            )
        ]

    def __str__(self) -> str:
        return self.operation.reference


def _sum_by(key: str, **which: OuterRef) -> Coalesce:
    moved = Posting.objects.filter(**which).order_by().values(key).annotate(total=Sum("quantity"))
    return Coalesce(
        Subquery(moved.values("total"), output_field=QuantityField()),
        Decimal(0),
        output_field=QuantityField(),
    )
