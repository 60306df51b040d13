"""What a bought material is: its profile, and the parts of a blend."""

from datetime import date
from decimal import Decimal

from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from workshop.core.fields import FixedPointField, PercentField
from workshop.core.formatting import THIN, number
from workshop.ledger.models import Item
from workshop.rules.dates.validity import in_force


class Constituency(models.TextChoices):
    """What an ingredient is, where lists and organic shares treat it apart."""

    PLAIN = "plain", "plain ingredient"
    WATER = "water", "added water"
    SALT = "salt", "salt"
    ALKALI = "alkali", "alkali"
    COLOURANT = "colourant", "colourant"
    FRAGRANCE = "fragrance", "fragrance"
    FLAVOUR = "flavour", "flavour"


NEVER_ORGANIC = (Constituency.WATER, Constituency.SALT, Constituency.ALKALI)


class Profile(models.Model):
    """What a material is: its name on a label, its density, how to keep it."""

    item = models.OneToOneField(Item, on_delete=models.PROTECT, related_name="profile")
    inci_name = models.CharField("INCI name", max_length=160)
    common_name = models.CharField(max_length=120, blank=True)
    soap_name = models.CharField(
        max_length=160,
        blank=True,
        help_text="For a fat: its INCI name once saponified, such as Sodium Olivate.",
    )
    is_nano = models.BooleanField(
        "nanomaterial", default=False, help_text="The list then marks it (nano)."
    )
    cas = models.CharField("CAS number", max_length=12, blank=True)
    kind = models.CharField(max_length=10, choices=Constituency, default=Constituency.PLAIN)
    is_organic = models.BooleanField(
        "bought as organic",
        default=False,
        help_text="Each lot still needs a certificate that covers it.",
    )
    density_g_per_ml = FixedPointField(places=4, null=True, blank=True)
    shelf_life_months = models.PositiveSmallIntegerField(null=True, blank=True)
    storage = models.CharField(max_length=200, blank=True)
    max_arrival_c = FixedPointField("warmest on arrival, °C", places=1, null=True, blank=True)
    melting_from_c = FixedPointField("melts from, °C", places=1, null=True, blank=True)
    melting_to_c = FixedPointField("molten at, °C", places=1, null=True, blank=True)
    caution = models.CharField(max_length=300, blank=True)

    history = HistoricalRecords()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="profile_kind_is_known", condition=Q(kind__in=Constituency.values)
            ),
            models.CheckConstraint(
                name="profile_density_is_possible",
                condition=Q(density_g_per_ml=None)
                | Q(density_g_per_ml__gte=Decimal("0.3"), density_g_per_ml__lte=Decimal(5)),
                violation_error_message="A density lies between 0.3 and 5 g/mL.",
            ),
            models.CheckConstraint(
                name="profile_water_and_salt_are_not_organic",
                condition=~Q(kind__in=NEVER_ORGANIC, is_organic=True),
                violation_error_message="Water, salt and alkali cannot be organic.",
            ),
            models.CheckConstraint(
                name="profile_melting_range_is_a_range",
                condition=Q(melting_from_c=None)
                | Q(melting_to_c=None)
                | Q(melting_from_c__lte=F("melting_to_c")),
                violation_error_message="A melting range begins below its end.",
            ),
        ]

    def __str__(self) -> str:
        return self.inci_name

    @property
    def melting_range(self) -> str:
        """The melting range in words, or the one end that is known; empty when neither is."""
        low, high = (
            None if one is None else number(one) for one in (self.melting_from_c, self.melting_to_c)
        )
        if low and high and low != high:
            return f"{low} to {high}{THIN}°C"
        return f"{low or high}{THIN}°C" if low or high else ""

    def blends(self) -> dict[date, list["BlendPart"]]:
        """The parts that it was bought as, by the first day of each set; from the rows at hand."""
        sets: dict[date, list[BlendPart]] = {}
        for part in self.parts.all():
            sets.setdefault(part.from_day, []).append(part)
        return sets

    def parts_on(self, day: date) -> list["BlendPart"]:
        """The parts that it was bought as on a day; none for a single ingredient."""
        return in_force(self.blends(), day) or []

    def can_be_organic_on(self, day: date) -> bool:
        return self.is_organic or any(part.is_organic for part in self.parts_on(day))


def profile_of(item: Item) -> Profile | None:
    """What the item is made of, or None for packaging and whatever nobody has described."""
    return getattr(item, "profile", None)


# The first day of parts that hold for every lot there ever was.
ALWAYS = date(1900, 1, 1)


class BlendPart(models.Model):
    """One constituent of a material bought as a blend; the parts of a day add up to 100 %.

    A lot is made of the parts that held on the day it came in: those of the last `from_day` by
    then. Where the supplier changed the blend, the new parts start on a day of their own.
    """

    profile = models.ForeignKey(Profile, on_delete=models.CASCADE, related_name="parts")
    inci_name = models.CharField("INCI name", max_length=160)
    common_name = models.CharField(max_length=120, blank=True)
    kind = models.CharField(max_length=10, choices=Constituency, default=Constituency.PLAIN)
    is_organic = models.BooleanField(default=False)
    share = PercentField(help_text="Percent by weight.")
    from_day = models.DateField("these parts hold from", default=ALWAYS)

    history = HistoricalRecords()

    class Meta:
        ordering = ["-share", "inci_name"]
        constraints = [
            models.CheckConstraint(
                name="blend_part_kind_is_known", condition=Q(kind__in=Constituency.values)
            ),
            models.CheckConstraint(
                name="blend_part_share_is_possible",
                condition=Q(share__gt=0, share__lte=100),
                violation_error_message="A share lies above 0 and at most at 100 %%.",
            ),
            models.UniqueConstraint(
                name="blend_part_is_named_once",
                fields=["profile", "from_day", "inci_name", "is_organic"],
            ),
        ]

    def __str__(self) -> str:
        return f"{self.inci_name} {self.share} %"
