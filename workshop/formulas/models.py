"""Formulas, their versions, lines, allowed substitutes and steps."""

from datetime import datetime
from decimal import Decimal
from typing import Self

from django.conf import settings
from django.db import models
from django.db.models import F, OuterRef, Prefetch, Q, Subquery
from simple_history.models import HistoricalRecords

from workshop.core.fields import FixedPointField, PercentField
from workshop.core.formatting import THIN, number
from workshop.ledger.models import Item


class VersionStatus(models.TextChoices):
    DRAFT = "draft", "draft"
    APPROVED = "approved", "approved"
    RETIRED = "retired", "retired"


class FormulaQuerySet(models.QuerySet["Formula"]):
    def with_versions(self) -> Self:
        """Annotate the approved version (number, when, key) and the draft (number, key)."""
        versions = Version.objects.filter(formula=OuterRef("pk")).order_by("-number")
        approved, draft = versions.approved(), versions.filter(status=VersionStatus.DRAFT)
        return self.annotate(
            approved_pk=Subquery(approved.values("pk")[:1]),
            approved_number=Subquery(approved.values("number")[:1]),
            approved_at=Subquery(approved.values("approved_at")[:1]),
            draft_pk=Subquery(draft.values("pk")[:1]),
            draft_number=Subquery(draft.values("number")[:1]),
        )


class Formula(models.Model):
    """A way of making one bulk item."""

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="formulas")
    name = models.CharField(
        max_length=120,
        unique=True,
        error_messages={"unique": "There is already a formula of this name."},
    )
    is_active = models.BooleanField(default=True)

    history = HistoricalRecords()
    objects = FormulaQuerySet.as_manager()
    approved_pk: int | None
    approved_number: int | None
    approved_at: datetime | None
    draft_pk: int | None
    draft_number: int | None

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class VersionQuerySet(models.QuerySet["Version"]):
    def approved(self) -> Self:
        return self.filter(status=VersionStatus.APPROVED)

    def in_full(self) -> Self:
        """With all that a page or a comparison of versions reads, in a handful of queries."""
        lines = Line.objects.select_related("item__profile").prefetch_related("substitutes")
        return self.select_related("formula__item", "made_by", "approved_by").prefetch_related(
            Prefetch("lines", lines), "steps"
        )


class Version(models.Model):
    """One version of a formula. Only a draft may change; the database refuses the rest."""

    formula = models.ForeignKey(Formula, on_delete=models.PROTECT, related_name="versions")
    number = models.PositiveSmallIntegerField()
    status = models.CharField(max_length=10, choices=VersionStatus, default=VersionStatus.DRAFT)
    expected_loss = PercentField(default=Decimal(2))
    shelf_life_months = models.PositiveSmallIntegerField(default=12)
    cure_days = models.PositiveSmallIntegerField(null=True, blank=True)
    cure_loss = PercentField(
        null=True, blank=True, help_text="What a soap loses from the pour to the end of its cure."
    )
    weekly_loss_most = PercentField(
        null=True, blank=True, help_text="Above this loss in a week it is not cured yet."
    )
    ph_least = FixedPointField(places=1, null=True, blank=True)
    ph_most = FixedPointField(places=1, null=True, blank=True)
    free_alkali_most = PercentField(
        null=True, blank=True, help_text="Free caustic alkali, as sodium hydroxide."
    )
    rework_limit = PercentField(default=Decimal(0))
    claims_organic = models.BooleanField(default=False)
    is_rinse_off = models.BooleanField(default=False)
    note = models.TextField(blank=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    approved_at = models.DateTimeField(null=True, blank=True)
    approved_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )

    history = HistoricalRecords()
    objects = VersionQuerySet.as_manager()

    class Meta:
        ordering = ["formula", "-number"]
        constraints = [
            models.UniqueConstraint(name="version_number_once", fields=["formula", "number"]),
            models.CheckConstraint(
                name="version_status_is_known", condition=Q(status__in=VersionStatus.values)
            ),
            models.CheckConstraint(
                name="version_approved_by_somebody",
                condition=Q(status=VersionStatus.DRAFT)
                | Q(approved_at__isnull=False, approved_by__isnull=False),
            ),
            models.CheckConstraint(
                name="version_loss_is_possible",
                condition=Q(expected_loss__gte=0, expected_loss__lt=100),
                violation_error_message="A loss lies between 0 and below 100 %%.",
            ),
            models.CheckConstraint(
                name="version_cure_is_possible",
                condition=Q(cure_days=None) | Q(cure_days__lte=3660),
                violation_error_message="The cure must be from 0 days to ten years.",
            ),
            models.CheckConstraint(
                name="version_cure_figures_are_possible",
                condition=(Q(cure_loss=None) | Q(cure_loss__gte=0, cure_loss__lt=100))
                & (Q(weekly_loss_most=None) | Q(weekly_loss_most__gt=0, weekly_loss_most__lt=100))
                & (Q(free_alkali_most=None) | Q(free_alkali_most__gt=0, free_alkali_most__lte=5))
                & (Q(ph_least=None) | Q(ph_least__gte=0, ph_least__lte=14))
                & (Q(ph_most=None) | Q(ph_most__gte=0, ph_most__lte=14))
                & (Q(ph_least=None) | Q(ph_most=None) | Q(ph_most__gte=F("ph_least"))),
                violation_error_message="A figure of the cure cannot be.",
            ),
            models.CheckConstraint(
                name="version_rework_is_possible",
                condition=Q(rework_limit__gte=0, rework_limit__lte=100),
                violation_error_message="A rework limit lies between 0 and 100 %%.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.formula} v{self.number}"

    @property
    def release_terms(self) -> list[str]:
        """What a release of a cured lot needs besides its days, in words."""
        terms = []
        if span := _span(self.ph_least, self.ph_most):
            terms.append(f"pH {span}")
        if self.free_alkali_most is not None:
            terms.append(f"free alkali at most {number(self.free_alkali_most, most=4)}{THIN}%")
        if self.weekly_loss_most is not None:
            terms.append(f"a loss in a week of at most {number(self.weekly_loss_most)}{THIN}%")
        return terms


class Line(models.Model):
    """One ingredient of a version: its share, when it goes in, how exactly."""

    version = models.ForeignKey(Version, on_delete=models.CASCADE, related_name="lines")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="formula_lines")
    order = models.PositiveSmallIntegerField()
    phase = models.CharField(max_length=20, default="A")
    share = PercentField(help_text="Percent of the whole, to four decimals.")
    tolerance = PercentField(default=Decimal(2), help_text="Percent of the line's own weight.")
    is_irreversible = models.BooleanField(
        "cannot be removed once added",
        default=False,
        help_text="A wax or anything that melts in at once: it is best weighed late.",
    )
    is_strained_out = models.BooleanField("strained out again", default=False)
    stays = models.CharField(
        max_length=200, blank=True, help_text="The INCI name of what it leaves in the oil."
    )
    held_back = PercentField(
        default=Decimal(0),
        help_text="What the marc holds of the oil, percent of the line's own weight.",
    )
    substitutes = models.ManyToManyField(Item, blank=True, related_name="+")

    class Meta:
        ordering = ["order"]
        constraints = [
            models.UniqueConstraint(name="line_order_once", fields=["version", "order"]),
            models.UniqueConstraint(name="line_item_once", fields=["version", "item"]),
            models.CheckConstraint(
                name="line_share_is_possible",
                condition=Q(share__gt=0, share__lte=100),
                violation_error_message="A share lies above 0 and at most at 100 %%.",
            ),
            models.CheckConstraint(
                name="line_tolerance_is_possible",
                condition=Q(tolerance__gt=0, tolerance__lte=50),
                violation_error_message="A tolerance lies above 0 and at most at 50 %%.",
            ),
            models.CheckConstraint(
                name="line_strained_out_says_what_stays",
                condition=Q(is_strained_out=True, held_back__gte=0, held_back__lte=1000)
                & ~Q(stays="")
                | Q(is_strained_out=False, stays="", held_back=0),
                violation_error_message="Say what stays of it, in INCI words.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item} {self.share} %"

    def marc_g(self, grams: Decimal) -> Decimal:
        """What the marc of so many grams weighs by the formula's own figure, to the milligram."""
        marc: Decimal = grams * (100 + self.held_back) / 100
        return round(marc, 3)


class Step(models.Model):
    """One step of the making, with its critical limits and its caution."""

    version = models.ForeignKey(Version, on_delete=models.CASCADE, related_name="steps")
    order = models.PositiveSmallIntegerField()
    phase = models.CharField(max_length=20, blank=True)
    text = models.TextField()
    from_c = FixedPointField("from, °C", places=1, null=True, blank=True)
    to_c = FixedPointField("to, °C", places=1, null=True, blank=True)
    minutes = models.PositiveSmallIntegerField(null=True, blank=True)
    keep_water_out = models.BooleanField(default=False)
    caution = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["order"]
        constraints = [
            models.UniqueConstraint(name="step_order_once", fields=["version", "order"]),
            models.CheckConstraint(
                name="step_range_is_a_range",
                condition=Q(from_c=None) | Q(to_c=None) | Q(to_c__gte=F("from_c")),
                violation_error_message="The upper temperature lies below the lower one.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.order}. {self.text}"

    @property
    def limits(self) -> str:
        """The temperature range in words; empty when the step has none."""
        span = _span(self.from_c, self.to_c)
        return f"{span}{THIN}°C" if span else ""


def _span(least: Decimal | None, most: Decimal | None) -> str:
    """From one figure to another in words; empty without either."""
    low, high = (number(one) if one is not None else "" for one in (least, most))
    if low and high:
        return f"{low} to {high}"
    return f"at least {low}" if low else f"at most {high}" if high else ""
