"""Complaints: what was said, what it was judged to be, and what was done about it."""

from datetime import date
from typing import Self

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from workshop.core.models import Upload
from workshop.dispatch.models import Customer
from workshop.ledger.models import Item, Lot
from workshop.rules.aftersales.adverse_events import records_kept_until, report_due_on

COMPLAINT_LETTER = "Q"


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


class ComplaintState(models.TextChoices):
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
            | Q(told_by__icontains=text)
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
    state = models.CharField(max_length=10, choices=ComplaintState, default=ComplaintState.OPEN)
    reported_on = models.DateField(null=True, blank=True)
    cause = models.TextField(blank=True)
    lots = models.ManyToManyField(Lot, related_name="complaints", blank=True)
    photos = models.ManyToManyField(Upload, related_name="+", blank=True)

    history = HistoricalRecords(m2m_fields=[lots, photos])
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
                    state__in=ComplaintState.values,
                ),
            ),
            models.CheckConstraint(
                name="complaint_says_what",
                condition=~Q(description=""),
                violation_error_message="Write down what was said.",
            ),
            models.CheckConstraint(
                name="complaint_closed_with_a_cause",
                condition=~Q(state=ComplaintState.CLOSED) | ~Q(cause=""),
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
        return {ComplaintState.OPEN: "on_hold", ComplaintState.CLOSED: "closed"}.get(
            ComplaintState(self.state), "under_way"
        )


class ComplaintStep(models.TextChoices):
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
    step = models.CharField(max_length=10, choices=ComplaintStep)
    words = models.TextField()
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    token = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="complaint_step_is_known", condition=Q(step__in=ComplaintStep.values)
            ),
            models.CheckConstraint(name="complaint_event_says_what", condition=~Q(words="")),
        ]

    def __str__(self) -> str:
        return f"{self.complaint} {self.get_step_display()}"
