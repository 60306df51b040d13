"""Organic schemes, what their lists name, and what each material is under each of them."""

from datetime import date

from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from workshop.core.fields import PercentField
from workshop.core.models import Upload
from workshop.materials.models.profiles import ALWAYS, Profile

# The scheme that labels follow: their words and categories are those of 7 CFR 205.
LABEL_SCHEME = "NOP"


class OrganicScheme(models.Model):
    """A set of organic rules: from which shares it lets what be said, and how it is known."""

    code = models.CharField(
        max_length=12,
        unique=True,
        error_messages={"unique": "There is already a scheme of this code."},
    )
    name = models.CharField(max_length=120)
    organic_from = PercentField(
        "organic from, %", default=95, help_text="Share without water and salt."
    )
    made_with_from = PercentField("made with organic from, %", default=70)
    tolerance = PercentField(
        "unexplained, up to %",
        default=2,
        help_text="A balance of mass that misses by more is shown as large. No rule sets a figure.",
    )
    source = models.CharField(max_length=200, help_text="The text that was read.")
    known_on = models.DateField("as known on", help_text="The day of that text.")

    history = HistoricalRecords()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="organic_scheme_shares_go_upwards",
                condition=Q(
                    made_with_from__gt=0,
                    organic_from__lte=100,
                    made_with_from__lte=F("organic_from"),
                ),
                violation_error_message="The share of “organic” is not below that of “made with”.",
            ),
            models.CheckConstraint(
                name="organic_scheme_tolerance_is_possible",
                condition=Q(tolerance__gte=0, tolerance__lte=100),
                violation_error_message="A tolerance lies between 0 and 100 %%.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class MaterialStatus(models.TextChoices):
    """What a material is under a scheme. The values are those of `rules.organic.statuses`."""

    ORGANIC = "organic", "organic, bought under a certificate"
    LISTED_A = "listed_a", "not agricultural, listed as nonsynthetic (205.605(a))"
    LISTED_B = "listed_b", "not agricultural, listed as synthetic (205.605(b))"
    LISTED_MADE_WITH = "listed_made_with", "listed for “made with organic” only"
    LISTED_606 = "listed_606", "agricultural, not organic, listed (205.606)"
    AGRICULTURAL = "agricultural", "agricultural, not organic, not listed"
    PROHIBITED = "prohibited", "prohibited or not allowed"
    WATER = "water", "added water"
    SALT = "salt", "salt"


LISTED = (
    MaterialStatus.LISTED_A,
    MaterialStatus.LISTED_B,
    MaterialStatus.LISTED_MADE_WITH,
    MaterialStatus.LISTED_606,
)


class ListEntry(models.Model):
    """A substance that a scheme's list names, with its annotation, as known on a day."""

    scheme = models.ForeignKey(OrganicScheme, on_delete=models.PROTECT, related_name="entries")
    name = models.CharField(max_length=160)
    status = models.CharField(
        "listed as",
        max_length=16,
        choices=[(one.value, one.label) for one in (*LISTED, MaterialStatus.PROHIBITED)],
    )
    annotation = models.CharField(max_length=300, blank=True)
    source = models.CharField(max_length=200)
    known_on = models.DateField("as known on")

    history = HistoricalRecords()

    class Meta:
        ordering = ["scheme", "name"]
        constraints = [
            models.UniqueConstraint(
                name="list_entry_is_entered_once",
                fields=["scheme", "name", "known_on"],
                violation_error_message="The list of that day names it already.",
            ),
            models.CheckConstraint(
                name="list_entry_status_is_known",
                condition=Q(status__in=[*(one.value for one in LISTED), "prohibited"]),
            ),
        ]

    def __str__(self) -> str:
        return self.name


class OrganicStatus(models.Model):
    """What a material, or one part of a blend, is under a scheme from a day on.

    `part_name` is the INCI name of the part, empty for the material itself. A lot is what held on
    the day it came in.
    """

    profile = models.ForeignKey(Profile, on_delete=models.PROTECT, related_name="organic_statuses")
    part_name = models.CharField("part of the blend", max_length=160, blank=True)
    scheme = models.CharField(max_length=12, default=LABEL_SCHEME)
    from_day = models.DateField("holds from", default=ALWAYS)
    status = models.CharField("what it is", max_length=16, choices=MaterialStatus)
    annotation = models.CharField(
        max_length=300, blank=True, help_text="What the list says beside its name."
    )
    search = models.TextField(
        "search for an organic one",
        blank=True,
        help_text="Who was asked, in what form, quality and quantity, and what they answered.",
    )
    searched_on = models.DateField("searched on", null=True, blank=True)
    source = models.CharField("where it is known from", max_length=200)
    evidence = models.ForeignKey(
        Upload, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    next_review = models.DateField(null=True, blank=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ["scheme", "part_name", "-from_day"]
        constraints = [
            models.CheckConstraint(
                name="organic_status_is_known", condition=Q(status__in=MaterialStatus.values)
            ),
            models.CheckConstraint(
                name="organic_status_names_its_source",
                condition=~Q(source=""),
                violation_error_message="Say where it is known from.",
            ),
            models.UniqueConstraint(
                name="organic_status_of_a_day",
                fields=["profile", "part_name", "scheme", "from_day"],
                violation_error_message="There is a status from that day already: change it.",
            ),
        ]

    def __str__(self) -> str:
        return self.get_status_display()

    @property
    def in_rules(self) -> str:
        """The status as the rules know it: a listed one needs its search to be recorded."""
        unsearched = self.status == MaterialStatus.LISTED_606 and not self.is_searched
        return f"{self.status}_unsearched" if unsearched else self.status

    @property
    def is_searched(self) -> bool:
        return bool(self.search.strip() and self.searched_on)

    def is_due(self, on: date) -> bool:
        return self.next_review is not None and self.next_review <= on
