"""Racks, where each lot stands, its weighings while it dries, and its tests."""

from typing import Self

from django.conf import settings
from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from workshop.core.fields import FixedPointField, QuantityField
from workshop.ledger.models import Lot, Operation, Place


class Rack(models.Model):
    """A place where poured soap stands and dries."""

    name = models.CharField(
        max_length=60,
        unique=True,
        error_messages={"unique": "There is already a rack of this name."},
    )
    is_active = models.BooleanField(default=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class RackPlace(models.Model):
    """The place that a rack is, with a code to scan. Each is of one other; rows are added only."""

    rack = models.OneToOneField(Rack, on_delete=models.PROTECT, related_name="as_place")
    place = models.OneToOneField(Place, on_delete=models.PROTECT, related_name="as_rack")

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return str(self.place)


class Standing(models.Model):
    """Where a lot was put. Rows are added only; the last of a lot counts."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="standings")
    rack = models.ForeignKey(Rack, on_delete=models.PROTECT, related_name="standings")
    place = models.CharField(max_length=40, blank=True)
    bars = models.PositiveIntegerField(null=True, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    token = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(name="standing_has_bars", condition=Q(bars=None) | Q(bars__gt=0))
        ]

    def __str__(self) -> str:
        return f"{self.rack}, {self.place}" if self.place else str(self.rack)


class WeighedAs(models.TextChoices):
    BAR = "bar", "a sample bar"
    TRAY = "tray", "all of the lot"


class CureWeighingQuerySet(models.QuerySet["CureWeighing"]):
    def effective(self) -> Self:
        """Weighings that are neither taken back nor the taking back of one."""
        return self.filter(corrects=None, reversal=None)


class CureWeighing(models.Model):
    """One weighing of a lot on its rack. Rows are added only.

    `before_g` is what the same bar, or all of the lot by the book, weighed before: none at the
    first weighing of a bar. What was lost since is in `operation`.
    """

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="cure_weighings")
    kind = models.CharField(max_length=4, choices=WeighedAs)
    before_g = QuantityField(null=True, blank=True)
    weight_g = QuantityField()
    operation = models.OneToOneField(
        Operation, on_delete=models.PROTECT, related_name="cure_weighing", null=True, blank=True
    )
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    token = models.CharField(max_length=64, unique=True)
    corrects = models.OneToOneField(
        "self", on_delete=models.PROTECT, related_name="reversal", null=True, blank=True
    )
    reason = models.CharField(max_length=300, blank=True)

    objects = CureWeighingQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="cure_weighing_kind_is_known", condition=Q(kind__in=WeighedAs.values)
            ),
            models.CheckConstraint(
                name="cure_weighing_weighs_something", condition=Q(weight_g__gt=0)
            ),
            models.CheckConstraint(
                name="cure_weighing_does_not_gain",
                condition=Q(before_g=None) | Q(before_g__gte=models.F("weight_g")),
            ),
            models.CheckConstraint(
                name="cure_weighing_taken_back_says_why", condition=Q(corrects=None) | ~Q(reason="")
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, {self.weight_g} g"


class CureTestKind(models.TextChoices):
    PH = "ph", "pH of a 1 % solution"
    FREE_ALKALI = "alkali", "free alkali, % as sodium hydroxide"


class CureTest(models.Model):
    """A test of a lot with its method and the limit that held. Rows are added only."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="cure_tests")
    kind = models.CharField(max_length=6, choices=CureTestKind)
    method = models.CharField(max_length=120)
    value = FixedPointField(places=4)
    least = FixedPointField(places=4, null=True, blank=True)
    most = FixedPointField(places=4, null=True, blank=True)
    is_within = models.BooleanField()
    note = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    token = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="cure_test_kind_is_known", condition=Q(kind__in=CureTestKind.values)
            ),
            models.CheckConstraint(name="cure_test_has_a_method", condition=~Q(method="")),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.value}"
