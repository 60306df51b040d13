"""Customers, dispatches and returns."""

from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from workshop.ledger.models import Operation


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

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class Dispatch(models.Model):
    operation = models.OneToOneField(Operation, on_delete=models.PROTECT, related_name="dispatch")
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="dispatches")
    customer_reference = models.CharField(max_length=60, blank=True, db_index=True)
    sent_on = models.DateField()
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["-sent_on", "-pk"]
        verbose_name_plural = "dispatches"

    def __str__(self) -> str:
        return self.operation.reference


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
