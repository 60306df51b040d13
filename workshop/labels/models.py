"""What labels are made from, the versions an owner approved, and the label log."""

from decimal import Decimal
from fractions import Fraction
from typing import Self

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from workshop.core.fields import FixedPointField
from workshop.core.models import Market
from workshop.formulas.models import Version
from workshop.ledger.models import Lot
from workshop.packing.models import Product
from workshop.rules import net_contents


class SoapNaming(models.TextChoices):
    ADDED = "added", "by what went in: oils, water, lye"
    SAPONIFIED = "saponified", "by what came out: soap, glycerin, fat left over"


class CodeKind(models.TextChoices):
    LOT = "lot", "Code 128 with the lot"
    DATAMATRIX = "datamatrix", "GS1 DataMatrix: GTIN, lot and date"
    QR = "qr", "GS1 QR code: GTIN, lot and date"
    LINK = "link", "QR code with a web address (GS1 Digital Link)"


class Panel(models.TextChoices):
    AS_LABEL = "label", "the label itself"
    FLAT = "flat", "a flat side: width and height"
    CYLINDER = "cylinder", "a jar or tube: diameter and height"
    LID = "lid", "a round lid: diameter"


class LabelDesign(models.Model):
    """What a product's labels say and carry besides what the product itself does."""

    product = models.OneToOneField(Product, on_delete=models.PROTECT, related_name="label_design")
    sold_in_us = models.BooleanField(Market.US.label, default=False)
    sold_in_eu = models.BooleanField(Market.EU.label, default=False)
    claims = models.TextField(
        blank=True, help_text="What the label promises, one claim a line. Each must be provable."
    )
    statements = models.JSONField("statements the law fixes", default=list, blank=True)
    may_contain = models.TextField(
        "colours of other batches or shades",
        blank=True,
        help_text="Named after “may contain”, one a line, such as CI 77491 (Iron Oxides).",
    )
    soap_naming = models.CharField(max_length=10, choices=SoapNaming, default=SoapNaming.ADDED)
    names_fragrance = models.BooleanField("name each fragrance instead of one word", default=False)
    keeps_months = models.PositiveSmallIntegerField(
        "stated shelf life, months",
        null=True,
        blank=True,
        help_text="“Keeps 18 months” on the label. Left empty, only each lot's own date stands.",
    )
    opened_months = models.PositiveSmallIntegerField(
        "good after opening, months", null=True, blank=True
    )
    has_e_mark = models.BooleanField(
        "carries the EU e mark",
        default=False,
        help_text="Printed only when the fill check of the run supports it.",
    )
    code = models.CharField(max_length=10, choices=CodeKind, default=CodeKind.LOT)
    link_base = models.URLField(
        "address of the web codes",
        blank=True,
        help_text="Such as https://example.org. Left empty, https://id.gs1.org.",
    )
    panel = models.CharField("main panel", max_length=10, choices=Panel, default=Panel.AS_LABEL)
    panel_width_mm = FixedPointField("width or diameter, mm", places=1, null=True, blank=True)
    panel_height_mm = FixedPointField("height, mm", places=1, null=True, blank=True)

    history = HistoricalRecords()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="label_design_months_are_possible",
                condition=(Q(keeps_months=None) | Q(keeps_months__range=(1, 120)))
                & (Q(opened_months=None) | Q(opened_months__range=(1, 99))),
                violation_error_message="Months lie between 1 and 120, after opening 1 and 99.",
            ),
            models.CheckConstraint(
                name="label_design_panel_has_its_measures",
                condition=Q(panel=Panel.AS_LABEL)
                | Q(panel=Panel.LID, panel_width_mm__isnull=False, panel_width_mm__gt=0)
                | Q(
                    panel__in=[Panel.FLAT, Panel.CYLINDER],
                    panel_width_mm__isnull=False,
                    panel_width_mm__gt=0,
                    panel_height_mm__isnull=False,
                    panel_height_mm__gt=0,
                ),
                violation_error_message="Give the measures of the main panel, above zero.",
            ),
        ]

    def __str__(self) -> str:
        return f"Labels of {self.product}"

    @property
    def panel_sq_in(self) -> Fraction | None:
        """The area of the main panel by 21 CFR 701.10; None when it is the label itself."""
        width, height = self.panel_width_mm or Decimal(0), self.panel_height_mm or Decimal(0)
        if self.panel == Panel.FLAT:
            return net_contents.rectangle_panel_sq_in(height, width)
        if self.panel == Panel.CYLINDER:
            return net_contents.cylinder_panel_sq_in(height, width)
        return net_contents.lid_panel_sq_in(width) if self.panel == Panel.LID else None


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
    certifier_line = models.CharField(max_length=160, blank=True)
    net_contents = models.CharField(max_length=60)
    net_ounces = FixedPointField(places=2)
    net_g = FixedPointField(places=3)
    keeps_months = models.PositiveSmallIntegerField("stated shelf life", null=True, blank=True)
    opened_months = models.PositiveSmallIntegerField("after opening", null=True, blank=True)
    date_style = models.CharField("date", max_length=10, choices=DateStyle, default=DateStyle.LOT)
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
                condition=Q(state__in=VersionState.values, market__in=Market.values),
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
    reason = models.CharField(max_length=300, blank=True)
    token = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["-pk"]
        constraints = [
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


class Shape(models.TextChoices):
    RECTANGLE = "rectangle", "rectangle"
    ROUND = "round", "round"


class Carries(models.TextChoices):
    ALL = "all", "the whole label"
    FRONT = "front", "the front: name, claim, net contents"
    INFORMATION = "information", "the information: list, cautions, maker, lot"


class OwnSize(models.Model):
    """A label size that the workshop added: on a sheet when it has columns, else one by one."""

    name = models.CharField(max_length=60, unique=True)
    shape = models.CharField(max_length=10, choices=Shape, default=Shape.RECTANGLE)
    carries = models.CharField(max_length=12, choices=Carries, default=Carries.ALL)
    width_mm = FixedPointField("width or diameter, mm", places=2)
    height_mm = FixedPointField("height, mm", places=2)
    margin_mm = FixedPointField("margin, mm", places=2, default=Decimal(2))
    dpi = models.PositiveSmallIntegerField("printer's dots an inch", null=True, blank=True)
    page_width_mm = FixedPointField("page width, mm", places=2, null=True, blank=True)
    page_height_mm = FixedPointField("page height, mm", places=2, null=True, blank=True)
    columns = models.PositiveSmallIntegerField(null=True, blank=True)
    rows = models.PositiveSmallIntegerField(null=True, blank=True)
    left_mm = FixedPointField("left margin of the page, mm", places=2, null=True, blank=True)
    top_mm = FixedPointField("upper margin of the page, mm", places=2, null=True, blank=True)
    gap_right_mm = FixedPointField("gap between columns, mm", places=2, default=Decimal(0))
    gap_down_mm = FixedPointField("gap between rows, mm", places=2, default=Decimal(0))
    is_active = models.BooleanField("in use", default=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                name="own_size_leaves_room",
                condition=Q(
                    width_mm__gt=F("margin_mm") * 2,
                    height_mm__gt=F("margin_mm") * 2,
                    margin_mm__gte=0,
                    width_mm__lte=500,
                    height_mm__lte=500,
                ),
                violation_error_message="A label is wider and higher than its margins, "
                "and at most 500 mm.",
            ),
            models.CheckConstraint(
                name="own_size_sheet_is_complete",
                condition=Q(columns=None, rows=None)
                | Q(
                    columns__isnull=False,
                    rows__isnull=False,
                    page_width_mm__isnull=False,
                    page_height_mm__isnull=False,
                    left_mm__isnull=False,
                    top_mm__isnull=False,
                    columns__range=(1, 30),
                    rows__range=(1, 60),
                    page_width_mm__gt=0,
                    page_height_mm__gt=0,
                    left_mm__gte=0,
                    top_mm__gte=0,
                    gap_right_mm__gte=0,
                    gap_down_mm__gte=0,
                ),
                violation_error_message="A sheet needs its page size, columns, rows and margins.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def key(self) -> str:
        return f"own-{self.pk}"
