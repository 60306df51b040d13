"""What stands beside a batch: changes of its targets, timers, photos, limits on the skin."""

from datetime import datetime, timedelta
from typing import Self

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from workshop.core.fields import QuantityField
from workshop.core.models import Upload
from workshop.formulas.models import Step


class TargetChangeKind(models.TextChoices):
    """What a target was changed for."""

    ACCEPT = "accept", "accepted as it is"
    REBALANCE = "rebalance", "rebalanced within tolerance"
    RESTORE = "restore", "restored to the formula"
    SPLIT = "split", "part of the melt split off"
    ADJUST = "adjust", "adjusted after the spoon test"
    SUBSTITUTE = "substitute", "set to a substitute's proportion"


# After these the shares are meant to be others than before; after the rest they are the same.
MEANT = (TargetChangeKind.ACCEPT, TargetChangeKind.ADJUST, TargetChangeKind.SUBSTITUTE)


class TargetChange(models.Model):
    """Another target for one line of a batch. Rows are added only; the last one counts.

    From `least_g` to `most_g` the line is within its tolerance: after a rebalancing that is less
    room than the formula's own tolerance gives.
    """

    line = models.ForeignKey(
        "kettle.BatchLine", on_delete=models.PROTECT, related_name="target_changes"
    )
    kind = models.CharField(max_length=10, choices=TargetChangeKind)
    was_g = QuantityField()
    now_g = QuantityField()
    least_g = QuantityField()
    most_g = QuantityField()
    reason = models.CharField(max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    token = models.CharField(max_length=64)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(name="target_change_once", fields=["line", "token"]),
            models.CheckConstraint(
                name="target_change_kind_is_known", condition=Q(kind__in=TargetChangeKind.values)
            ),
            models.CheckConstraint(
                name="target_change_says_why",
                condition=~Q(reason=""),
                violation_error_message="Say why the target is changed.",
            ),
            models.CheckConstraint(
                name="target_change_changes", condition=Q(now_g__gte=0) & ~Q(now_g=F("was_g"))
            ),
            models.CheckConstraint(
                name="target_change_lies_in_its_band",
                condition=Q(least_g__lte=F("now_g"), most_g__gte=F("now_g")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.line}: {self.was_g} g, now {self.now_g} g"


class TimerQuerySet(models.QuerySet["Timer"]):
    def running(self) -> Self:
        return self.filter(ended_at=None)


class Timer(models.Model):
    """A time that runs at the stove, for melting, holding warm or setting."""

    batch = models.ForeignKey("kettle.Batch", on_delete=models.PROTECT, related_name="timers")
    step = models.ForeignKey(
        Step, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    name = models.CharField(max_length=80)
    minutes = models.PositiveSmallIntegerField()
    started_at = models.DateTimeField()
    started_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    ended_at = models.DateTimeField(null=True, blank=True)
    token = models.CharField(max_length=64, unique=True)

    objects = TimerQuerySet.as_manager()

    class Meta:
        ordering = ["started_at", "pk"]
        constraints = [
            models.CheckConstraint(name="timer_runs_a_while", condition=Q(minutes__gt=0)),
            models.CheckConstraint(
                name="timer_ends_after_it_starts",
                condition=Q(ended_at=None) | Q(ended_at__gte=F("started_at")),
            ),
            models.UniqueConstraint(
                name="timer_runs_once_a_step", fields=["batch", "step"], condition=Q(ended_at=None)
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def due_at(self) -> datetime:
        return self.started_at + timedelta(minutes=self.minutes)

    @property
    def is_due(self) -> bool:
        return timezone.now() >= self.due_at


class Photo(models.Model):
    """A picture taken at a batch. Rows are added only."""

    batch = models.ForeignKey("kettle.Batch", on_delete=models.PROTECT, related_name="photos")
    step = models.ForeignKey(
        Step, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    upload = models.OneToOneField(Upload, on_delete=models.PROTECT, related_name="+")
    shows = models.CharField(max_length=200)
    token = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["pk"]
        constraints = [models.CheckConstraint(name="photo_says_more", condition=~Q(shows=""))]

    def __str__(self) -> str:
        return self.shows
