"""The label log: what was printed for which lot."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from workshop.ledger.models import Lot


class Print(models.Model):
    """Labels printed for one finished lot, with the text they carried. Rows are added only."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="prints")
    count = models.PositiveIntegerField()
    layout = models.CharField(max_length=30, help_text="The key of the size or sheet printed on.")
    text = models.TextField()
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    reason = models.CharField(max_length=300, blank=True)
    token = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["-pk"]
        constraints = [models.CheckConstraint(name="print_counts", condition=Q(count__gt=0))]

    def __str__(self) -> str:
        return f"{self.count} labels for {self.lot}"
