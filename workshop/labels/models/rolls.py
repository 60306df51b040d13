"""Labels that came printed: lots of packaging, and the approved label that each carries."""

from typing import Self

from django.conf import settings
from django.db import models
from django.db.models import Max

from workshop.labels.models.versions import LabelVersion
from workshop.ledger.models import Lot


class RollQuerySet(models.QuerySet["Roll"]):
    def latest_of_each(self) -> Self:
        """What counts of each lot: the row entered last."""
        last = self.model.objects.order_by().values("lot").annotate(last=Max("pk"))
        return self.filter(pk__in=last.values("last"))


class Roll(models.Model):
    """Which label a lot of printed rolls carries. Rows are only added, and the latest counts."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="label_rolls")
    version = models.ForeignKey(LabelVersion, on_delete=models.PROTECT, related_name="rolls")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    token = models.CharField(max_length=64, unique=True)

    objects = RollQuerySet.as_manager()

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"{self.lot}: {self.version}"
