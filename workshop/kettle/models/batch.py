"""Batches, their lines, and each weighing and check of a batch."""

from decimal import Decimal
from typing import Any, Self

from django.conf import settings
from django.db import models
from django.db.models import F, OuterRef, Q, Subquery, Sum
from django.db.models.functions import Coalesce

from workshop.core.fields import FixedPointField, PercentField, QuantityField
from workshop.formulas.models import Line, Step, Version
from workshop.kettle.models.batch_extras import TargetChange
from workshop.kettle.models.equipment import Kettle, Scale
from workshop.ledger.models import Item, Operation, Posting, Side


class BatchState(models.TextChoices):
    PLANNED = "planned", "planned"
    UNDER_WAY = "under_way", "under way"
    POURED = "poured", "poured"
    CLOSED = "closed", "closed"
    ABANDONED = "abandoned", "stopped for good"


class BatchQuerySet(models.QuerySet["Batch"]):
    def under_way(self) -> Self:
        return self.filter(state__in=[BatchState.PLANNED, BatchState.UNDER_WAY, BatchState.POURED])

    def over(self) -> Self:
        return self.filter(state__in=[BatchState.CLOSED, BatchState.ABANDONED])

    def with_weights(self) -> Self:
        """Annotate `taken_g`, all that stands as weighed in, and `put_out_g`, as poured."""
        return self.annotate(taken_g=_moved(Side.IN, -1), put_out_g=_moved(Side.OUT, 1))

    def with_names(self) -> Self:
        return self.select_related(
            "operation__opened_by", "version__formula__item", "kettle", "scale"
        )


class Batch(models.Model):
    """A kettle batch of one formula version; its operation holds every gram."""

    operation = models.OneToOneField(Operation, on_delete=models.PROTECT, related_name="batch")
    version = models.ForeignKey(Version, on_delete=models.PROTECT, related_name="batches")
    kettle = models.ForeignKey(Kettle, on_delete=models.PROTECT, related_name="batches")
    scale = models.ForeignKey(Scale, on_delete=models.PROTECT, related_name="batches")
    state = models.CharField(max_length=10, choices=BatchState, default=BatchState.PLANNED)
    target_g = QuantityField(help_text="All that goes into the kettle.")
    expected_loss = PercentField()
    units = models.PositiveIntegerField(null=True, blank=True)
    fill_g = QuantityField(null=True, blank=True)
    note = models.TextField(blank=True)

    objects = BatchQuerySet.as_manager()
    taken_g: Decimal
    put_out_g: Decimal

    class Meta:
        ordering = ["-pk"]
        indexes = [models.Index(fields=["state"], name="batch_state")]
        constraints = [
            models.CheckConstraint(
                name="batch_state_is_known", condition=Q(state__in=BatchState.values)
            ),
            models.CheckConstraint(name="batch_weighs_something", condition=Q(target_g__gt=0)),
            models.CheckConstraint(
                name="batch_loss_is_possible",
                condition=Q(expected_loss__gte=0, expected_loss__lt=100),
                violation_error_message="A loss lies between 0 and below 100 %%.",
            ),
            models.CheckConstraint(
                name="batch_units_have_a_fill",
                condition=Q(units=None, fill_g=None)
                | Q(units__isnull=False, fill_g__isnull=False, units__gt=0, fill_g__gt=0),
                violation_error_message="A number of units needs the fill of one unit.",
            ),
        ]

    def __str__(self) -> str:
        return self.operation.reference

    @property
    def is_being_weighed(self) -> bool:
        return self.state in (BatchState.PLANNED, BatchState.UNDER_WAY)

    @property
    def is_ended(self) -> bool:
        return self.state in (BatchState.CLOSED, BatchState.ABANDONED)


class BatchLineQuerySet(models.QuerySet["BatchLine"]):
    def with_taken(self) -> Self:
        """Annotate `taken_g`, the readings of the line that stand, and its target now:
        `aim_g`, and `least_g` and `most_g` if that was changed.
        """
        stands = Weighing.objects.effective().filter(line=OuterRef("pk")).order_by()
        changes = TargetChange.objects.filter(line=OuterRef("pk")).order_by("-pk")
        return self.annotate(
            taken_g=_summed(stands.values("line").annotate(g=-Sum("posting__quantity"))),
            aim_g=Coalesce(
                Subquery(changes.values("now_g")[:1]), F("target_g"), output_field=QuantityField()
            ),
            least_g=Subquery(changes.values("least_g")[:1]),
            most_g=Subquery(changes.values("most_g")[:1]),
        )


class BatchLine(models.Model):
    """What one line of the formula means for this batch, or an addition nobody planned.

    `target_g` is the plan and stays; what is aimed at once a target was changed is `aim_g`.
    """

    batch = models.ForeignKey(Batch, on_delete=models.PROTECT, related_name="lines")
    formula_line = models.ForeignKey(
        Line, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    order = models.PositiveSmallIntegerField()
    phase = models.CharField(max_length=20)
    target_g = QuantityField()
    tolerance = PercentField(default=Decimal(2))
    is_irreversible = models.BooleanField(default=False)
    reason = models.CharField(max_length=300, blank=True)

    objects = BatchLineQuerySet.as_manager()
    taken_g: Decimal
    aim_g: Decimal
    least_g: Decimal | None
    most_g: Decimal | None

    class Meta:
        ordering = ["order"]
        constraints = [
            models.UniqueConstraint(name="batch_line_order_once", fields=["batch", "order"]),
            models.CheckConstraint(
                name="batch_line_target_not_negative", condition=Q(target_g__gte=0)
            ),
            models.CheckConstraint(
                name="batch_line_tolerance_is_possible",
                condition=Q(tolerance__gt=0, tolerance__lte=50),
                violation_error_message="A tolerance lies above 0 and at most at 50 %%.",
            ),
            models.CheckConstraint(
                name="batch_line_unplanned_says_why",
                condition=Q(formula_line__isnull=False) | ~Q(reason=""),
                violation_error_message="Say why this is added.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.batch}: {self.item}"

    @property
    def is_planned(self) -> bool:
        return self.formula_line_id is not None

    @property
    def is_strained_out(self) -> bool:
        return self.formula_line is not None and self.formula_line.is_strained_out

    @property
    def low_g(self) -> Decimal:
        """The least that is within the tolerance; exact, not rounded to a scale."""
        grams: Decimal = self.aim_g * (100 - self.tolerance) / 100
        return grams if self.least_g is None else self.least_g

    @property
    def high_g(self) -> Decimal:
        grams: Decimal = self.aim_g * (100 + self.tolerance) / 100
        return grams if self.most_g is None else self.most_g

    @property
    def is_within(self) -> bool:
        """Whether what was taken is within the tolerance; of a line read `with_taken`."""
        return self.low_g <= self.taken_g <= self.high_g

    @property
    def is_above_target(self) -> bool:
        """Whether more was taken than the tolerance allows; of a planned line read `with_taken`."""
        return self.is_planned and self.taken_g > self.high_g

    @property
    def is_done(self) -> bool:
        """Whether there is nothing more to weigh in; too much is done as well."""
        return not self.is_planned or self.taken_g >= self.low_g

    @property
    def over_g(self) -> Decimal:
        return -self.to_go_g

    @property
    def to_go_g(self) -> Decimal:
        grams: Decimal = self.aim_g - self.taken_g
        return grams


class WeighingQuerySet(models.QuerySet["Weighing"]):
    def effective(self) -> Self:
        """Readings that were not taken back."""
        return self.filter(posting__reversal=None)

    def with_names(self) -> Self:
        return self.select_related(
            "line__item", "scale", "posting__lot__item", "posting__by", "posting__reversal__by"
        )


class Weighing(models.Model):
    """One reading of one lot for one line; the grams are its posting."""

    line = models.ForeignKey(BatchLine, on_delete=models.PROTECT, related_name="weighings")
    posting = models.OneToOneField(Posting, on_delete=models.PROTECT, related_name="weighing")
    scale = models.ForeignKey(Scale, on_delete=models.PROTECT, related_name="weighings")
    note = models.CharField(max_length=300, blank=True)

    objects = WeighingQuerySet.as_manager()

    class Meta:
        ordering = ["posting"]

    def __str__(self) -> str:
        return str(self.posting)


class CheckKind(models.TextChoices):
    TEMPERATURE = "temperature", "temperature"
    TIME = "time", "time"
    SPOON = "spoon", "spoon test"
    CLEAN = "clean", "kettle and tools clean and dry"
    SAMPLE = "sample", "sample kept back"
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


def _moved(side: Side, sign: int) -> Coalesce:
    """What the batch's operation moved on one side; a reversal takes its own part away."""
    rows = Posting.objects.filter(operation=OuterRef("operation"), side=side).order_by()
    return _summed(rows.values("operation").annotate(g=Sum("quantity") * sign))


def _summed(rows: models.QuerySet[Any, Any]) -> Coalesce:
    return Coalesce(
        Subquery(rows.values("g"), output_field=QuantityField()),
        Decimal(0),
        output_field=QuantityField(),
    )
