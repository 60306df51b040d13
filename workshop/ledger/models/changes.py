"""What stands beside the ledger's rows: changes of status, amendments, seals, running numbers."""

from functools import reduce
from operator import or_

from django.conf import settings
from django.db import models
from django.db.models import Q

from workshop.ledger.models.enums import Status
from workshop.ledger.models.ledger import Lot, Operation
from workshop.rules.lot_status import MOVES


def _any_move() -> Q:
    """Any of the moves that the rules allow."""
    return reduce(or_, (Q(was=was, now=now) for was, now in MOVES))


class StatusChange(models.Model):
    """Who moved a lot to which status, when and why. Rows are added only."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="status_changes")
    was = models.CharField(max_length=10, choices=Status, blank=True)
    now = models.CharField(max_length=10, choices=Status)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    reason = models.CharField(max_length=300, blank=True)
    # What a release still lacked when an owner released the lot all the same.
    despite = models.TextField(blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="status_change_despite_is_a_release_and_says_why",
                condition=Q(despite="") | (Q(now=Status.RELEASED) & ~Q(reason="")),
                violation_error_message="Say why it is released all the same.",
            ),
            models.CheckConstraint(
                name="status_change_is_known",
                condition=Q(now__in=Status.values, was__in=["", *Status.values]),
            ),
            models.CheckConstraint(
                name="status_change_says_why",
                condition=Q(was="") | Q(was=Status.QUARANTINE, now=Status.RELEASED) | ~Q(reason=""),
                violation_error_message="Say why the lot moves to this status.",
            ),
            models.CheckConstraint(
                name="status_change_is_allowed",
                condition=Q(was="") | _any_move(),
                violation_error_message="A lot does not move from that status to this one.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.lot} {self.now}"


class DateChange(models.Model):
    """Who gave a lot another best-before date, when and why. Rows are added only."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="date_changes")
    was = models.DateField(null=True, blank=True)
    now = models.DateField(null=True, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    reason = models.CharField(max_length=300)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="date_change_says_why",
                condition=~Q(reason=""),
                violation_error_message="Say why the best-before date changes.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.lot} best before {self.now}"


class Amendment(models.Model):
    """An owner's reason for opening a sealed operation again. Rows are added only."""

    operation = models.ForeignKey(Operation, on_delete=models.PROTECT, related_name="amendments")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    reason = models.CharField(max_length=300)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="amendment_says_why",
                condition=~Q(reason=""),
                violation_error_message="Say why the closed record is opened again.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.operation}: {self.reason}"


class Correction(models.Model):
    """A fact that an amendment put right: what it was stays to be read. Rows are added only."""

    amendment = models.ForeignKey(Amendment, on_delete=models.PROTECT, related_name="corrections")
    # The lot it is about, where the record is of several.
    lot = models.ForeignKey(
        Lot, on_delete=models.PROTECT, related_name="corrections", null=True, blank=True
    )
    fact = models.CharField(max_length=40)
    was = models.TextField(blank=True)
    now = models.TextField(blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="correction_changes_something", condition=~Q(was=models.F("now"))
            ),
            models.CheckConstraint(name="correction_names_its_fact", condition=~Q(fact="")),
        ]

    def __str__(self) -> str:
        return f"{self.fact}: {self.was} → {self.now}"


class Seal(models.Model):
    """A SHA-256 over an operation's record and over the seal before it. Rows are added only."""

    number = models.PositiveBigIntegerField(unique=True)
    operation = models.ForeignKey(Operation, on_delete=models.PROTECT, related_name="seals")
    record = models.TextField()
    digest = models.CharField(max_length=64, unique=True)
    previous = models.CharField(max_length=64, unique=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["number"]

    def __str__(self) -> str:
        return f"seal {self.number} {self.digest[:12]}"


class Covered(models.Model):
    """How far the seals cover one log: every row up to `last`, but for those still `pending`.

    Pending is what is not final yet, and numbers that another transaction may still write. It is
    kept so that the next seal need not read all seals before it; the proof recomputes it.
    """

    table = models.CharField(max_length=80, unique=True)
    last = models.BigIntegerField(default=0)
    pending = models.JSONField(default=list)

    def __str__(self) -> str:
        return f"{self.table} up to {self.last}"


class Counter(models.Model):
    """The last running number given out under a name, say K-2611 for November's batches."""

    name = models.CharField(max_length=20, unique=True)
    last = models.PositiveIntegerField(default=0)

    def __str__(self) -> str:
        return f"{self.name}: {self.last}"
