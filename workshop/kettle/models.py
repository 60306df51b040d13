"""Kettles, scales, batches, and each weighing and check of a batch."""

from decimal import Decimal
from typing import Self

from django.conf import settings
from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from workshop.core.fields import FixedPointField, PercentField, QuantityField
from workshop.formulas.models import Line, Step, Version
from workshop.ledger.models import Item, Lot, Operation, Posting


class Kettle(models.Model):
    name = models.CharField(max_length=60, unique=True)
    capacity_g = QuantityField()
    is_active = models.BooleanField(default=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                name="kettle_holds_something",
                condition=Q(capacity_g__gt=0),
                violation_error_message="A kettle holds more than nothing.",
            )
        ]

    def __str__(self) -> str:
        return self.name


class AccuracyClass(models.TextChoices):
    """OIML R 76 accuracy classes."""

    SPECIAL = "I", "I, special"
    HIGH = "II", "II, high"
    MEDIUM = "III", "III, medium"
    ORDINARY = "IIII", "IIII, ordinary"


class Scale(models.Model):
    """A scale: what it shows (division d), what it is verified by (interval e), how much it takes."""

    name = models.CharField(max_length=60, unique=True)
    division_g = QuantityField()
    interval_g = QuantityField(null=True, blank=True)
    capacity_g = QuantityField()
    accuracy_class = models.CharField(
        max_length=4, choices=AccuracyClass, default=AccuracyClass.MEDIUM
    )
    is_active = models.BooleanField(default=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                name="scale_reads_something",
                condition=Q(division_g__gt=0, capacity_g__gt=0),
                violation_error_message="A scale's division and capacity are above zero.",
            ),
            models.CheckConstraint(
                name="scale_class_is_known",
                condition=Q(accuracy_class__in=AccuracyClass.values),
            ),
        ]

    def __str__(self) -> str:
        return self.name


class BatchState(models.TextChoices):
    PLANNED = "planned", "planned"
    UNDER_WAY = "under_way", "under way"
    POURED = "poured", "poured"
    CLOSED = "closed", "closed"
    ABANDONED = "abandoned", "stopped for good"


class BatchQuerySet(models.QuerySet["Batch"]):
    def under_way(self) -> Self:
        return self.filter(state__in=[BatchState.PLANNED, BatchState.UNDER_WAY, BatchState.POURED])


class Batch(models.Model):
    """A kettle batch of one formula version; its operation holds every gram."""

    operation = models.OneToOneField(Operation, on_delete=models.PROTECT, related_name="batch")
    version = models.ForeignKey(Version, on_delete=models.PROTECT, related_name="batches")
    kettle = models.ForeignKey(Kettle, on_delete=models.PROTECT, related_name="batches")
    scale = models.ForeignKey(Scale, on_delete=models.PROTECT, related_name="batches")
    state = models.CharField(max_length=10, choices=BatchState, default=BatchState.PLANNED)
    target_g = QuantityField(help_text="All that goes into the kettle.")
    expected_loss = PercentField()
    note = models.TextField(blank=True)

    objects = BatchQuerySet.as_manager()

    class Meta:
        ordering = ["-pk"]
        indexes = [models.Index(fields=["state"], name="batch_state")]
        constraints = [
            models.CheckConstraint(
                name="batch_state_is_known", condition=Q(state__in=BatchState.values)
            ),
            models.CheckConstraint(name="batch_weighs_something", condition=Q(target_g__gt=0)),
        ]

    def __str__(self) -> str:
        return self.operation.reference


class BatchLine(models.Model):
    """What one line of the formula means for this batch, or an addition nobody planned."""

    batch = models.ForeignKey(Batch, on_delete=models.PROTECT, related_name="lines")
    formula_line = models.ForeignKey(
        Line, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    order = models.PositiveSmallIntegerField()
    phase = models.CharField(max_length=20)
    target_g = QuantityField()
    tolerance = PercentField(default=Decimal(2))
    goes_in_for_good = models.BooleanField(default=False)
    reason = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["order"]
        constraints = [
            models.UniqueConstraint(name="batch_line_order_once", fields=["batch", "order"]),
            models.CheckConstraint(
                name="batch_line_target_not_negative", condition=Q(target_g__gte=0)
            ),
            models.CheckConstraint(
                name="batch_line_unplanned_says_why",
                condition=Q(formula_line__isnull=False) | ~Q(reason=""),
                violation_error_message="Say why this is added.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.batch}: {self.item}"


class Weighing(models.Model):
    """One reading of one lot for one line; the grams are its posting."""

    line = models.ForeignKey(BatchLine, on_delete=models.PROTECT, related_name="weighings")
    posting = models.OneToOneField(Posting, on_delete=models.PROTECT, related_name="weighing")
    scale = models.ForeignKey(Scale, on_delete=models.PROTECT, related_name="weighings")
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["posting"]

    def __str__(self) -> str:
        return str(self.posting)


class CheckKind(models.TextChoices):
    TEMPERATURE = "temperature", "temperature"
    TIME = "time", "time"
    SPOON = "spoon", "spoon test"
    NOTE = "note", "note"


class Check(models.Model):
    """Something looked at or measured during a batch. Rows are added only."""

    batch = models.ForeignKey(Batch, on_delete=models.PROTECT, related_name="checks")
    step = models.ForeignKey(
        Step, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    kind = models.CharField(max_length=12, choices=CheckKind)
    temperature_c = FixedPointField(places=1, null=True, blank=True)
    minutes = FixedPointField(places=1, null=True, blank=True)
    is_within = models.BooleanField(default=True)
    note = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    token = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.CheckConstraint(
                name="check_kind_is_known", condition=Q(kind__in=CheckKind.values)
            ),
            models.CheckConstraint(
                name="check_out_of_limits_says_more",
                condition=Q(is_within=True) | ~Q(note=""),
                violation_error_message="It is outside its limits: say what was done about it.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.at:%H:%M}"
