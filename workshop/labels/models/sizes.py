"""Sizes of labels that the workshop added to those that come with the book."""

from decimal import Decimal

from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from workshop.core.fields import FixedPointField


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
                name="own_size_choices_are_known",
                condition=Q(shape__in=Shape.values, carries__in=Carries.values),
            ),
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
