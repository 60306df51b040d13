"""Every word of a label as an owner approved it, and what was decided where it is untrue."""

from typing import Self

from django.conf import settings
from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from workshop.core.fields import FixedPointField
from workshop.core.markets import (
    Market,
)
from workshop.formulas.models import Version
from workshop.ledger.models import Lot
from workshop.packing.models import Product


class VersionState(models.TextChoices):
    DRAFT = "draft", "draft"
    APPROVED = "approved", "approved"
    RETIRED = "retired", "retired"


class DateStyle(models.TextChoices):
    LOT = "lot", "each lot's own date is printed"
    JAR = "jar", "the open jar with its months, no date (EU, above 30 months)"
    FIXED = "fixed", "the artwork itself carries a date"


class LabelVersionQuerySet(models.QuerySet["LabelVersion"]):
    def approved(self) -> Self:
        return self.filter(state=VersionState.APPROVED)

    def with_names(self) -> Self:
        return self.select_related(
            "product__item", "made_by", "approved_by", "made_from", "formula_version__formula"
        )


class LabelVersion(models.Model):
    """Every word of a product's label for one market. Once approved, the database keeps it so."""

    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="label_versions")
    market = models.CharField(max_length=2, choices=Market)
    number = models.PositiveSmallIntegerField()
    state = models.CharField(max_length=10, choices=VersionState, default=VersionState.DRAFT)
    made_from = models.ForeignKey(
        Lot, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    formula_version = models.ForeignKey(
        Version, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    name = models.CharField("name", max_length=120)
    identity = models.CharField("what it is", max_length=120, blank=True)
    languages = models.JSONField(default=list, blank=True)
    organic_statement = models.CharField(max_length=200, blank=True)
    claim = models.CharField("organic category", max_length=20, blank=True)
    organic_percent = models.PositiveSmallIntegerField(null=True, blank=True)
    made_with = models.JSONField(default=list, blank=True)
    entries = models.JSONField(help_text="Name, share as a fraction, organic or not, group.")
    may_contain = models.JSONField("may contain", default=list, blank=True)
    claims = models.TextField(blank=True)
    directions = models.TextField(blank=True)
    cautions = models.TextField(blank=True)
    maker = models.TextField()
    responsible = models.TextField("responsible person and origin", blank=True)
    certifier_line = models.CharField(max_length=160, blank=True)
    net_contents = models.CharField(max_length=60)
    net_ounces = FixedPointField(places=2)
    net_g = FixedPointField(places=3)
    keeps_months = models.PositiveSmallIntegerField("stated shelf life", null=True, blank=True)
    opened_months = models.PositiveSmallIntegerField("after opening", null=True, blank=True)
    date_style = models.CharField("date", max_length=10, choices=DateStyle, default=DateStyle.LOT)
    has_hourglass = models.BooleanField("the hourglass before the date", default=False)
    fixed_date = models.DateField(
        "date on the artwork",
        null=True,
        blank=True,
        help_text="Only when the date is printed with the artwork, not with each lot.",
    )
    gtin = models.CharField("GTIN", max_length=14, blank=True)
    reason = models.CharField("why", max_length=300, blank=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    approved_at = models.DateTimeField(null=True, blank=True)
    approved_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )

    history = HistoricalRecords()
    objects = LabelVersionQuerySet.as_manager()

    class Meta:
        ordering = ["product", "market", "-number"]
        constraints = [
            models.UniqueConstraint(
                name="label_version_number_once", fields=["product", "market", "number"]
            ),
            models.UniqueConstraint(
                name="label_version_one_approved",
                fields=["product", "market"],
                condition=Q(state=VersionState.APPROVED),
            ),
            models.CheckConstraint(
                name="label_version_state_is_known",
                condition=Q(
                    state__in=VersionState.values,
                    market__in=Market.values,
                    date_style__in=DateStyle.values,
                ),
            ),
            models.CheckConstraint(
                name="label_version_date_fits_its_style",
                condition=Q(date_style=DateStyle.FIXED, fixed_date__isnull=False)
                | Q(date_style=DateStyle.JAR, opened_months__isnull=False, fixed_date=None)
                | Q(date_style=DateStyle.LOT, fixed_date=None),
                violation_error_message="A date on the artwork needs that date, the open jar its "
                "months; otherwise leave the date empty.",
            ),
            models.CheckConstraint(
                name="label_version_approved_by_somebody",
                condition=Q(state=VersionState.DRAFT)
                | Q(approved_at__isnull=False, approved_by__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.product}, {self.market} label {self.number}"


class DecisionKind(models.TextChoices):
    MEND = "mend", "new label version"
    RELABEL = "relabel", "sticker with the new ingredient list"
    HOLD = "hold", "lot on hold"


class Decision(models.Model):
    """What an owner decided about a lot that its approved label is untrue of. Only added."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="label_decisions")
    version = models.ForeignKey(LabelVersion, on_delete=models.PROTECT, related_name="decisions")
    kind = models.CharField(max_length=10, choices=DecisionKind)
    sentences = models.JSONField(help_text="The differences that were decided about.")
    reason = models.CharField(max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    token = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                name="label_decision_has_a_reason",
                condition=Q(kind__in=DecisionKind.values) & ~Q(reason=""),
            )
        ]

    def __str__(self) -> str:
        return f"{self.lot}: {self.get_kind_display()}"
