"""Recalls and drills, with whom was told and what the count came to.

What is on hand and who was sent what, only the ledger says; a closed recall keeps the figures
of that moment as its report.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Self

from django.conf import settings
from django.db import models
from django.db.models import Count, F, Q, Sum
from simple_history.models import HistoricalRecords

from workshop.aftersales.models.complaints import Complaint
from workshop.core.fields import QuantityField
from workshop.dispatch.models import Customer
from workshop.ledger.models import ItemKind, Lot

RECALL_LETTER = "F"
NOTHING = Decimal(0)


class Hazard(models.TextChoices):
    """21 CFR 7.3(m)."""

    CLASS_1 = "1", "Class I: serious harm or death is reasonably likely"
    CLASS_2 = "2", "Class II: passing harm, or serious harm only remotely likely"
    CLASS_3 = "3", "Class III: harm is not likely"
    NOT_YET = "", "not classed yet"


class Depth(models.TextChoices):
    """21 CFR 7.42(b)(1)."""

    CONSUMER = "consumer", "consumer or user"
    RETAIL = "retail", "retail"
    WHOLESALE = "wholesale", "wholesale"


class Level(models.TextChoices):
    """Effectiveness checks, 21 CFR 7.42(b)(3)."""

    A = "A", "A, every customer"
    B = "B", "B, more than 10 %, fewer than all"
    C = "C", "C, 10 %"
    D = "D", "D, 2 %"
    E = "E", "E, none"


class RecallQuerySet(models.QuerySet["Recall"]):
    def with_sums(self) -> Self:
        """Annotate finished units made and accounted for by the report of a closed one."""
        finished = Q(lines__lot__item__kind=ItemKind.PRODUCT)
        return self.annotate(
            made=Sum("lines__made", filter=finished, output_field=QuantityField()),
            missing=Sum("lines__missing", filter=finished, output_field=QuantityField()),
            lots_count=Count("lines"),
        ).order_by("-started_at", "-pk")


class Recall(models.Model):
    """A recall, or a drill of one, that begins with one lot."""

    reference = models.CharField(max_length=20, unique=True)
    token = models.CharField(max_length=64, unique=True)
    is_drill = models.BooleanField(default=False)
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="recalls")
    complaint = models.ForeignKey(
        Complaint, on_delete=models.PROTECT, null=True, blank=True, related_name="recalls"
    )
    reason = models.CharField(max_length=300)
    hazard = models.CharField(max_length=1, choices=Hazard, blank=True, default=Hazard.NOT_YET)
    depth = models.CharField(max_length=10, choices=Depth, default=Depth.RETAIL)
    level = models.CharField(max_length=1, choices=Level, default=Level.A)
    # `hazard` is our own view until the authority has assigned the class: then who did, and when.
    classed_by = models.CharField(max_length=120, blank=True)
    classed_on = models.DateField(null=True, blank=True)
    remedy = models.CharField(max_length=300, blank=True)
    notice_on = models.DateField(null=True, blank=True)
    started_at = models.DateTimeField()
    started_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    cause = models.TextField(blank=True)
    gaps = models.TextField(blank=True)
    # Units out when it closed, those whose holders were reached, and those that nobody can reach.
    units_out = QuantityField(null=True, blank=True)
    units_reached = QuantityField(null=True, blank=True)
    units_unreachable = QuantityField(null=True, blank=True)

    history = HistoricalRecords()
    objects = RecallQuerySet.as_manager()
    made: Decimal | None
    missing: Decimal | None
    lots_count: int

    class Meta:
        ordering = ["-started_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                name="recall_words_are_known",
                condition=Q(
                    hazard__in=Hazard.values, depth__in=Depth.values, level__in=Level.values
                ),
            ),
            models.CheckConstraint(
                name="recall_says_why",
                condition=~Q(reason=""),
                violation_error_message="Say why it is recalled.",
            ),
            models.CheckConstraint(
                name="recall_closed_by_somebody",
                condition=Q(closed_at=None, closed_by=None)
                | Q(closed_at__gte=F("started_at"), closed_by__isnull=False),
            ),
            models.CheckConstraint(
                name="recall_closed_with_a_cause",
                condition=Q(closed_at=None) | Q(is_drill=True) | ~Q(cause=""),
                violation_error_message="Name the cause and what is done about it.",
            ),
            models.CheckConstraint(
                name="recall_classed_by_whom_and_when",
                condition=Q(classed_by="", classed_on=None)
                | (~Q(classed_by="") & ~Q(hazard="") & Q(classed_on__isnull=False)),
                violation_error_message="Name the class, who assigned it and on which day.",
            ),
            models.UniqueConstraint(
                name="recall_open_once_a_lot",
                fields=["lot"],
                condition=Q(is_drill=False, closed_at=None),
                violation_error_message="A recall of this lot is open already.",
            ),
        ]

    def __str__(self) -> str:
        return self.reference

    @property
    def is_closed(self) -> bool:
        return self.closed_at is not None

    @property
    def word(self) -> str:
        return "drill" if self.is_drill else "recall"

    @property
    def is_classed(self) -> bool:
        """Whether the authority has assigned the class; before, it is only our own view."""
        return self.classed_on is not None

    @property
    def hazard_class(self) -> str:
        return Hazard(self.hazard).label.partition(":")[0]

    @property
    def took(self) -> timedelta | None:
        return None if self.closed_at is None else self.closed_at - self.started_at

    @property
    def took_shown(self) -> str:
        """Hours, minutes and seconds, as the running clock shows them."""
        return "" if self.took is None else str(self.took).partition(".")[0]


class RecallEntryKind(models.TextChoices):
    """What is written in the log of a recall."""

    STARTED = "started", "started"
    HELD = "held", "lots put on hold"
    TERMS = "terms", "terms changed"
    TOLD = "told", "told"
    NOT_REACHED = "not_reached", "tried, not reached"
    ANSWERED = "answered", "answered"
    LISTED = "listed", "list of buyers looked through"
    NOTED = "noted", "noted"
    CLOSED = "closed", "closed"


WITH_CUSTOMER = (
    RecallEntryKind.TOLD,
    RecallEntryKind.NOT_REACHED,
    RecallEntryKind.ANSWERED,
    RecallEntryKind.LISTED,
)


class Means(models.TextChoices):
    TELEPHONE = "telephone", "telephone"
    EMAIL = "email", "e-mail"
    LETTER = "letter", "letter"
    IN_PERSON = "in_person", "in person"


class RecallEntry(models.Model):
    """One line in the log of a recall: what was done, or whom was told. Rows are added only."""

    recall = models.ForeignKey(Recall, on_delete=models.PROTECT, related_name="entries")
    customer = models.ForeignKey(
        Customer, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    what = models.CharField(max_length=12, choices=RecallEntryKind)
    means = models.CharField(max_length=10, choices=Means, blank=True)
    spoke_with = models.CharField(max_length=120, blank=True)
    words = models.TextField(blank=True)
    will_return = QuantityField(default=NOTHING)
    destroyed = QuantityField(default=NOTHING)
    sold_on = QuantityField(default=NOTHING)
    # Of a customer who stands for many: units whose buyers were notified or, in a drill, found on
    # the list.
    buyers_units = QuantityField(default=NOTHING)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    token = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="recall_entry_is_known",
                condition=Q(what__in=RecallEntryKind.values, means__in=["", *Means.values]),
            ),
            models.CheckConstraint(
                name="recall_entry_names_customer",
                condition=Q(what__in=WITH_CUSTOMER, customer__isnull=False)
                | (~Q(what__in=WITH_CUSTOMER) & Q(customer=None)),
            ),
            models.CheckConstraint(
                name="recall_entry_counts_up",
                condition=Q(
                    will_return__gte=0, destroyed__gte=0, sold_on__gte=0, buyers_units__gte=0
                ),
                violation_error_message="A number of units is not below zero.",
            ),
            # A drill closes without a cause, and a recall not without: see Recall.
            models.CheckConstraint(
                name="recall_entry_says_something",
                condition=Q(what=RecallEntryKind.CLOSED) | ~Q(words=""),
                violation_error_message="Write down what was said or done.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.recall} {self.get_what_display()}"


class RecallLine(models.Model):
    """Where all of one affected lot is: live while the recall runs, kept when it closes.

    made = on the shelf + with known customers or on its way to them + used again + discarded
    + lost + missing, where `lost` is what stock counts found short, and the shelf is what was
    found there now or, where nobody looked, what the book says. Rows are added only.
    """

    recall = models.ForeignKey(Recall, on_delete=models.PROTECT, related_name="lines")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="+")
    made = QuantityField()
    on_hand = QuantityField()
    found = QuantityField(null=True, blank=True)
    with_customers = QuantityField()
    # Of what counts as with customers. Unknown for reports from before it was kept.
    on_its_way = QuantityField(null=True, blank=True)
    used = QuantityField()
    discarded = QuantityField()
    lost = QuantityField()
    missing = QuantityField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(name="recall_line_once_a_lot", fields=["recall", "lot"]),
            models.CheckConstraint(
                name="recall_line_found_counts_up", condition=Q(found=None) | Q(found__gte=0)
            ),
        ]

    def __str__(self) -> str:
        return f"{self.recall} {self.lot}"

    @property
    def shelf(self) -> Decimal:
        held: Decimal = self.on_hand if self.found is None else self.found
        return max(held, NOTHING)

    @property
    def arrived(self) -> Decimal:
        """With customers and not on its way to them."""
        there: Decimal = self.with_customers - (self.on_its_way or NOTHING)
        return there

    @property
    def accounted(self) -> Decimal:
        placed: Decimal = self.made - self.missing
        return placed
