"""The label log: what was printed, and what became of it. Rows are added only."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from workshop.core.markets import (
    Market,
)
from workshop.labels.models.versions import LabelVersion
from workshop.ledger.models import Lot


class PrintKind(models.TextChoices):
    LABEL = "label", "labels"
    STICKER = "sticker", "stickers “new ingredient list”"
    CARTON = "carton", "carton labels"


class Print(models.Model):
    """Labels printed for one finished lot, with the text they carried. Rows are added only."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="prints")
    kind = models.CharField(max_length=10, choices=PrintKind, default=PrintKind.LABEL)
    count = models.PositiveIntegerField()
    layout = models.CharField(max_length=30, help_text="The key of the size or sheet printed on.")
    market = models.CharField(max_length=2, choices=Market, default=Market.US)
    version = models.ForeignKey(
        LabelVersion, on_delete=models.PROTECT, related_name="prints", null=True, blank=True
    )
    best_before = models.DateField(null=True, blank=True, help_text="The date they carried.")
    text = models.TextField()
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    first_sscc = models.CharField(
        "SSCC of the first carton",
        max_length=18,
        blank=True,
        help_text="Those of the others follow it.",
    )
    reason = models.CharField(max_length=300, blank=True)
    numbered = models.BooleanField("each with a number", default=False)
    first_number = models.PositiveIntegerField(default=1)
    first_cell = models.PositiveSmallIntegerField(default=1)
    spoiled_cells = models.JSONField(default=list, blank=True)
    again_of = models.ForeignKey(
        "self", on_delete=models.PROTECT, related_name="again", null=True, blank=True
    )
    token = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.UniqueConstraint(
                name="print_sscc_is_given_once", fields=["first_sscc"], condition=~Q(first_sscc="")
            ),
            models.CheckConstraint(name="print_counts", condition=Q(count__gt=0)),
            models.CheckConstraint(
                name="print_kind_is_known",
                condition=Q(kind__in=PrintKind.values, market__in=Market.values),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.count} {self.get_kind_display()} for {self.lot}"


class LabelCount(models.Model):
    """What became of a run's labels: used, spoiled, returned. Rows are added only.

    A mistake is mended by a further row with figures below zero and a reason.
    """

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="label_counts")
    used = models.IntegerField()
    spoiled = models.IntegerField()
    returned = models.IntegerField()
    reason = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    token = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="label_count_below_zero_has_a_reason",
                condition=Q(used__gte=0, spoiled__gte=0, returned__gte=0) | ~Q(reason=""),
            )
        ]

    def __str__(self) -> str:
        return f"{self.lot}: {self.used} used"
