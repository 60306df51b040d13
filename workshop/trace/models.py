"""Complaints, and recalls with whom was told and what the count came to.

What is on hand and who was sent what, only the ledger says; a closed recall keeps the figures
of that moment as its report.
"""

from datetime import date, timedelta
from decimal import Decimal
from typing import Self

from django.conf import settings
from django.db import models
from django.db.models import Count, F, Q, Sum

from workshop.core.fields import QuantityField
from workshop.core.models import Upload
from workshop.dispatch.models import Customer
from workshop.ledger.models import Item, Kind, Lot
from workshop.rules.adverse_events import records_kept_until, report_due_on

COMPLAINT_LETTER, RECALL_LETTER = "Q", "F"
NOTHING = Decimal(0)


class Channel(models.TextChoices):
    TELEPHONE = "telephone", "telephone"
    EMAIL = "email", "e-mail"
    LETTER = "letter", "letter"
    IN_PERSON = "in_person", "in person"
    ONLINE = "online", "online form or message"
    SHOP = "shop", "through a shop"


class Nature(models.TextChoices):
    SKIN = "skin", "skin reaction"
    SMELL = "smell", "smell or colour"
    TEXTURE = "texture", "texture"
    UNDERFILL = "underfill", "underfill"
    PACKAGING = "packaging", "packaging"
    FOREIGN = "foreign", "foreign matter"
    LABEL = "label", "label"
    OTHER = "other", "other"


class Severity(models.TextChoices):
    MINOR = "minor", "minor"
    MAJOR = "major", "major"
    CRITICAL = "critical", "critical"


class Outcome(models.TextChoices):
    """What makes an adverse event serious (FD&C Act 604, in part from memory)."""

    DEATH = "death", "death"
    LIFE = "life", "danger to life"
    HOSPITAL = "hospital", "stay in hospital"
    DISABILITY = "disability", "lasting disability or incapacity"
    BIRTH = "birth", "birth defect"
    INFECTION = "infection", "infection"
    LOOKS = (
        "looks",
        "disfigurement: serious and lasting rash, second- or third-degree burn, much hair lost, "
        "lasting change of looks",
    )
    TREATED = "treated", "treatment was needed to prevent one of these"


class State(models.TextChoices):
    OPEN = "open", "open"
    ASSESSED = "assessed", "assessed"
    ANSWERED = "answered", "answered"
    CLOSED = "closed", "closed"


class ComplaintQuerySet(models.QuerySet["Complaint"]):
    def mentioning(self, text: str) -> Self:
        return self.filter(
            Q(reference__icontains=text)
            | Q(code_read__icontains=text)
            | Q(customer__name__icontains=text)
            | Q(product__name__icontains=text)
            | Q(description__icontains=text)
        )

    def serious(self) -> Self:
        return self.exclude(outcome="")

    def to_report(self) -> Self:
        """Serious ones that the authority was not told of."""
        return self.serious().filter(reported_on=None)


class Complaint(models.Model):
    reference = models.CharField(max_length=20, unique=True)
    token = models.CharField(max_length=64, unique=True)
    channel = models.CharField(max_length=10, choices=Channel)
    customer = models.ForeignKey(
        Customer, on_delete=models.PROTECT, null=True, blank=True, related_name="complaints"
    )
    told_by = models.CharField(max_length=200, blank=True)
    received_on = models.DateField()
    product = models.ForeignKey(
        Item, on_delete=models.PROTECT, null=True, blank=True, related_name="complaints"
    )
    code_read = models.CharField(max_length=60, blank=True)
    nature = models.CharField(max_length=10, choices=Nature)
    severity = models.CharField(max_length=10, choices=Severity)
    outcome = models.CharField(max_length=10, choices=Outcome, blank=True)
    description = models.TextField()
    state = models.CharField(max_length=10, choices=State, default=State.OPEN)
    reported_on = models.DateField(null=True, blank=True)
    cause = models.TextField(blank=True)
    lots = models.ManyToManyField(Lot, related_name="complaints", blank=True)
    photos = models.ManyToManyField(Upload, related_name="+", blank=True)

    objects = ComplaintQuerySet.as_manager()

    class Meta:
        ordering = ["-received_on", "-pk"]
        indexes = [models.Index(fields=["received_on", "nature"], name="complaint_day_nature")]
        constraints = [
            models.CheckConstraint(
                name="complaint_words_are_known",
                condition=Q(
                    channel__in=Channel.values,
                    nature__in=Nature.values,
                    severity__in=Severity.values,
                    outcome__in=["", *Outcome.values],
                    state__in=State.values,
                ),
            ),
            models.CheckConstraint(
                name="complaint_says_what",
                condition=~Q(description=""),
                violation_error_message="Write down what was said.",
            ),
            models.CheckConstraint(
                name="complaint_closed_with_a_cause",
                condition=~Q(state=State.CLOSED) | ~Q(cause=""),
                violation_error_message="Name the cause, or say that none was found.",
            ),
            models.CheckConstraint(
                name="complaint_reported_after_received",
                condition=Q(reported_on=None) | Q(reported_on__gte=F("received_on")),
                violation_error_message="It was received after this day.",
            ),
        ]

    def __str__(self) -> str:
        return self.reference

    @property
    def is_serious(self) -> bool:
        return self.outcome != ""

    @property
    def is_adverse_event(self) -> bool:
        return self.is_serious or self.nature == Nature.SKIN

    @property
    def report_due_on(self) -> date:
        return report_due_on(self.received_on)

    @property
    def kept_until(self) -> date:
        return records_kept_until(self.received_on, small_business=False)

    @property
    def kept_until_if_small(self) -> date:
        return records_kept_until(self.received_on, small_business=True)

    @property
    def manner(self) -> str:
        """The status whose colour and shape this one shares."""
        return {State.OPEN: "on_hold", State.CLOSED: "closed"}.get(State(self.state), "under_way")


class Step(models.TextChoices):
    """What happened to a complaint."""

    LOGGED = "logged", "logged"
    NOTED = "noted", "noted"
    ASSESSED = "assessed", "assessed"
    REPORTED = "reported", "reported to the authority"
    ANSWERED = "answered", "answered"
    CLOSED = "closed", "closed"
    REOPENED = "reopened", "opened again"


class ComplaintEvent(models.Model):
    """Who did what about a complaint, when and why. Rows are added only."""

    complaint = models.ForeignKey(Complaint, on_delete=models.PROTECT, related_name="events")
    step = models.CharField(max_length=10, choices=Step)
    words = models.TextField()
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    token = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="complaint_step_is_known", condition=Q(step__in=Step.values)
            ),
            models.CheckConstraint(name="complaint_event_says_what", condition=~Q(words="")),
        ]

    def __str__(self) -> str:
        return f"{self.complaint} {self.get_step_display()}"


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
        finished = Q(lines__lot__item__kind=Kind.PRODUCT)
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
    def hazard_class(self) -> str:
        return Hazard(self.hazard).label.partition(":")[0]

    @property
    def took(self) -> timedelta | None:
        return None if self.closed_at is None else self.closed_at - self.started_at

    @property
    def took_shown(self) -> str:
        """Hours, minutes and seconds, as the running clock shows them."""
        return "" if self.took is None else str(self.took).partition(".")[0]


class Entry(models.TextChoices):
    """What is written in the log of a recall."""

    STARTED = "started", "started"
    HELD = "held", "lots put on hold"
    TERMS = "terms", "terms changed"
    TOLD = "told", "told"
    NOT_REACHED = "not_reached", "tried, not reached"
    ANSWERED = "answered", "answered"
    NOTED = "noted", "noted"
    CLOSED = "closed", "closed"


WITH_CUSTOMER = (Entry.TOLD, Entry.NOT_REACHED, Entry.ANSWERED)


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
    what = models.CharField(max_length=12, choices=Entry)
    means = models.CharField(max_length=10, choices=Means, blank=True)
    spoke_with = models.CharField(max_length=120, blank=True)
    words = models.TextField(blank=True)
    will_return = QuantityField(default=NOTHING)
    destroyed = QuantityField(default=NOTHING)
    sold_on = QuantityField(default=NOTHING)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    token = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="recall_entry_is_known",
                condition=Q(what__in=Entry.values, means__in=["", *Means.values]),
            ),
            models.CheckConstraint(
                name="recall_entry_names_customer",
                condition=Q(what__in=WITH_CUSTOMER, customer__isnull=False)
                | (~Q(what__in=WITH_CUSTOMER) & Q(customer=None)),
            ),
            models.CheckConstraint(
                name="recall_entry_counts_up",
                condition=Q(will_return__gte=0, destroyed__gte=0, sold_on__gte=0),
                violation_error_message="A number of units is not below zero.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.recall} {self.get_what_display()}"


class RecallLine(models.Model):
    """Where all of one affected lot is: live while the recall runs, kept when it closes.

    made = on the shelf + with known customers + used again + discarded + lost + missing, where
    `lost` is what stock counts found short, and the shelf is what was found there now or, where
    nobody looked, what the book says. Rows are added only.
    """

    recall = models.ForeignKey(Recall, on_delete=models.PROTECT, related_name="lines")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="+")
    made = QuantityField()
    on_hand = QuantityField()
    found = QuantityField(null=True, blank=True)
    with_customers = QuantityField()
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
    def accounted(self) -> Decimal:
        placed: Decimal = self.made - self.missing
        return placed
