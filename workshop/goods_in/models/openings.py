"""Lots that were there before the book: what is known of each, and what stands on it."""

from django.db import models

from workshop.ledger.models import Lot


class OpeningLot(models.Model):
    """A lot taken over from the time before the book. A bought one has a line of a receipt, too.

    What went into it, and what was done with it earlier, is not in the book.
    """

    lot = models.OneToOneField(Lot, on_delete=models.PROTECT, related_name="opening")
    old_code = models.CharField(max_length=40, blank=True, db_index=True)
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.old_code or str(self.lot)
