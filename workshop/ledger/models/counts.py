"""What a stock count found of a lot, beside what the book said."""

from decimal import Decimal

from django.db import models
from django.db.models import Q

from workshop.core.fields import QuantityField
from workshop.ledger.models.ledger import Lot, Operation


class LotCount(models.Model):
    """The record of one stock count: what was counted, and what the book said at that moment.

    The posting of its operation is the difference; a count that agreed has none.
    """

    operation = models.OneToOneField(Operation, on_delete=models.PROTECT, related_name="lot_count")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="lot_counts")
    counted = QuantityField()
    book = QuantityField()
    counted_at = models.DateTimeField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="lot_count_not_below_zero",
                condition=Q(counted__gte=0),
                violation_error_message="A counted quantity is not below zero.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.lot}: {self.counted} counted"

    @property
    def difference(self) -> Decimal:
        found: Decimal = self.counted - self.book
        return found
