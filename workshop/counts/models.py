"""Rounds of counting: what they ask for, each count, and how they ended. Rows are added only."""

from typing import Any, Self

from django.conf import settings
from django.db import models
from django.db.models import Count as HowMany
from django.db.models import Q

from workshop.core.fields import PercentField, QuantityField
from workshop.costs.models import AmountField
from workshop.ledger.models import Item, ItemKind, Lot, Operation, Place

ROUND_LETTER = "T"


class AbcClass(models.TextChoices):
    """How often something is counted: by a year's use of it times what it costs."""

    A = "A", "A, four times a year"
    B = "B", "B, twice a year"
    C = "C", "C, once a year"


def _person(**options: Any) -> Any:
    return models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+", **options
    )


class Classing(models.Model):
    """The classes of all items as they were worked out on one day; the latest one holds."""

    at = models.DateTimeField()
    by = _person()
    token = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"Classes of {self.at:%Y-%m-%d}"


class ItemClass(models.Model):
    """The class of one item, and the value of a year's use that it was given for."""

    classing = models.ForeignKey(Classing, on_delete=models.PROTECT, related_name="items")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="count_classes")
    abc_class = models.CharField(max_length=1, choices=AbcClass)
    used_value = AmountField()

    class Meta:
        ordering = ["-used_value", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["classing", "item"], name="item_class_once"),
            models.CheckConstraint(
                name="item_class_is_known", condition=Q(abc_class__in=AbcClass.values)
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item}: {self.abc_class}"


class CountRoundQuerySet(models.QuerySet["CountRound"]):
    def under_way(self) -> Self:
        return self.filter(end=None)

    def with_progress(self) -> Self:
        """Annotate how many lots are asked for, and how many of them were counted."""
        return self.annotate(
            asked=HowMany("lines", distinct=True),
            seen=HowMany("lines", filter=Q(lines__counts__isnull=False), distinct=True),
        )


class CountRound(models.Model):
    """One round: by what its lots were chosen, and how they are counted.

    Without a tolerance of its own it goes by the class of each item. In a blind round nobody who
    counts is shown what the book says.
    """

    reference = models.CharField(max_length=20, unique=True)
    token = models.CharField(max_length=64, unique=True)
    begun_at = models.DateTimeField()
    begun_by = _person()
    place = models.ForeignKey(
        Place, on_delete=models.PROTECT, related_name="rounds", null=True, blank=True
    )
    kind = models.CharField(max_length=10, choices=ItemKind, blank=True)
    abc_class = models.CharField(max_length=1, choices=AbcClass, blank=True)
    only_due = models.BooleanField(default=False)
    is_blind = models.BooleanField(default=True)
    tolerance_percent = PercentField(null=True, blank=True)

    objects = CountRoundQuerySet.as_manager()
    asked: int
    seen: int

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                name="count_round_kind_is_known", condition=Q(kind__in=["", *ItemKind.values])
            ),
            models.CheckConstraint(
                name="count_round_class_is_known",
                condition=Q(abc_class__in=["", *AbcClass.values]),
            ),
            models.CheckConstraint(
                name="count_round_tolerance_is_a_share",
                condition=Q(tolerance_percent=None)
                | Q(tolerance_percent__gte=0, tolerance_percent__lte=100),
            ),
        ]

    def __str__(self) -> str:
        return self.reference

    @property
    def is_over(self) -> bool:
        return hasattr(self, "end")

    @property
    def chosen_by(self) -> str:
        """By what its lots were chosen, in words."""
        words = [
            f"at {self.place}" if self.place else "",
            self.get_kind_display(),
            f"class {self.abc_class}" if self.abc_class else "",
            "due for counting" if self.only_due else "",
        ]
        return ", ".join(word for word in words if word) or "all that is in stock"


class CountLine(models.Model):
    """A lot that a round asks for, with the class and the tolerance that hold in it.

    `is_found` is a lot that nobody asked for and somebody found there.
    """

    round = models.ForeignKey(CountRound, on_delete=models.PROTECT, related_name="lines")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="count_lines")
    place = models.ForeignKey(
        Place, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    abc_class = models.CharField(max_length=1, choices=AbcClass)
    tolerance_percent = PercentField()
    is_found = models.BooleanField(default=False)
    at = models.DateTimeField()
    by = _person()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["round", "lot"], name="count_line_once"),
            models.CheckConstraint(
                name="count_line_class_is_known", condition=Q(abc_class__in=AbcClass.values)
            ),
            models.CheckConstraint(
                name="count_line_tolerance_not_negative", condition=Q(tolerance_percent__gte=0)
            ),
        ]

    def __str__(self) -> str:
        return f"{self.lot} in {self.round}"


class Count(models.Model):
    """What one person counted of a lot, and what the book said at that very moment."""

    line = models.ForeignKey(CountLine, on_delete=models.PROTECT, related_name="counts")
    counted = QuantityField()
    book = QuantityField()
    counted_at = models.DateTimeField()
    note = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField()
    by = _person()
    token = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="count_not_below_zero",
                condition=Q(counted__gte=0),
                violation_error_message="A counted quantity is not below zero.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.counted} of {self.line}"


class RoundEnd(models.Model):
    """An owner ended a round with their signature; nothing is counted in it any more."""

    round = models.OneToOneField(CountRound, on_delete=models.PROTECT, related_name="end")
    at = models.DateTimeField()
    by = _person()
    token = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.round} ended"


class PostedCount(models.Model):
    """A count by which the book was set right when its round ended, with the reason."""

    end = models.ForeignKey(RoundEnd, on_delete=models.PROTECT, related_name="posted")
    count = models.OneToOneField(Count, on_delete=models.PROTECT, related_name="posted")
    operation = models.OneToOneField(
        Operation, on_delete=models.PROTECT, related_name="posted_count"
    )
    reason = models.CharField(max_length=300)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(name="posted_count_says_why", condition=~Q(reason=""))
        ]

    def __str__(self) -> str:
        return f"{self.operation}: {self.count}"
