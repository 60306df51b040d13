"""Customers, dispatches and returns."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Self

from django.conf import settings
from django.db import models
from django.db.models import Case, Count, Exists, Max, OuterRef, Q, Subquery, Sum, Value, When
from django.db.models.functions import Coalesce
from simple_history.models import HistoricalRecords

from workshop.core.fields import QuantityField
from workshop.ledger.models import Amendment, Operation, Posting

STANDS = Q(dispatches__taken_back=None)


class CustomerQuerySet(models.QuerySet["Customer"]):
    def active(self) -> Self:
        return self.filter(is_active=True)

    def with_dispatches(self) -> Self:
        """Annotate how often goods were sent to them, and when last."""
        return self.annotate(
            sent=Count("dispatches", filter=STANDS),
            last_sent=Max("dispatches__sent_on", filter=STANDS),
        ).order_by("name")

    def mentioning(self, text: str) -> Self:
        return self.filter(Q(name__icontains=text) | Q(contact__icontains=text))


class Customer(models.Model):
    name = models.CharField(
        max_length=120,
        unique=True,
        error_messages={"unique": "There is already a customer of this name."},
    )
    contact = models.CharField(max_length=120, blank=True)
    address = models.TextField(blank=True)
    email = models.EmailField(blank=True)
    telephone = models.CharField(max_length=40, blank=True)
    stands_for_many = models.BooleanField(default=False)
    buyers_named = models.PositiveIntegerField(null=True, blank=True)
    is_active = models.BooleanField(default=True)

    history = HistoricalRecords()
    objects = CustomerQuerySet.as_manager()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                name="customer_names_buyers_where_there_are_many",
                condition=Q(buyers_named=None) | Q(stands_for_many=True),
                violation_error_message="Only who stands for many buyers has buyers to name.",
            )
        ]

    def __str__(self) -> str:
        return self.name


class Whereabouts(models.TextChoices):
    ON_ITS_WAY = "on_its_way", "on the way"
    TAKEN = "taken_as_arrived", "taken as arrived"
    ARRIVED = "arrived", "arrived"
    TAKEN_BACK = "taken_back", "taken back"


class DispatchQuerySet(models.QuerySet["Dispatch"]):
    def with_units(self) -> Self:
        """Annotate the change of stock by the dispatch itself and by what came back since."""
        return self.annotate(
            sent_change=_sum_by("operation", operation=OuterRef("operation")),
            back_change=_sum_by(
                "operation__returned__dispatch", operation__returned__dispatch=OuterRef("pk")
            ),
        )

    def effective(self) -> Self:
        """Those that were not taken back."""
        return self.filter(taken_back=None)

    def without_word(self, *, on: date) -> Self:
        """Sent by that day, and by then neither said to have arrived nor come back in part."""
        return self.effective().filter(~_with_word(on), sent_on__lte=on)

    def with_whereabouts(self, *, on: date, days: int) -> Self:
        """Annotate where it was on that day; after `days` without word it is taken as arrived."""
        return self.annotate(
            whereabouts=Case(
                When(taken_back__isnull=False, then=Value(Whereabouts.TAKEN_BACK)),
                When(_with_word(on), then=Value(Whereabouts.ARRIVED)),
                When(sent_on__lte=on - timedelta(days=days), then=Value(Whereabouts.TAKEN)),
                default=Value(Whereabouts.ON_ITS_WAY),
                output_field=models.CharField(),
            )
        )

    def mentioning(self, text: str) -> Self:
        return self.filter(
            Q(operation__reference__icontains=text)
            | Q(customer_reference__icontains=text)
            | Q(customer__name__icontains=text)
        )


class Dispatch(models.Model):
    operation = models.OneToOneField(Operation, on_delete=models.PROTECT, related_name="dispatch")
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="dispatches")
    customer_reference = models.CharField(max_length=60, blank=True, db_index=True)
    sent_on = models.DateField()
    note = models.TextField(blank=True)
    # Who took it back, when and why: it never went out, and counts for nothing.
    taken_back = models.OneToOneField(
        Amendment, on_delete=models.PROTECT, null=True, blank=True, related_name="dispatch"
    )

    objects = DispatchQuerySet.as_manager()
    sent_change: Decimal
    back_change: Decimal
    whereabouts: str

    class Meta:
        ordering = ["-sent_on", "-pk"]
        indexes = [models.Index(fields=["sent_on", "id"], name="dispatch_by_day")]
        verbose_name_plural = "dispatches"

    def __str__(self) -> str:
        return self.operation.reference

    @property
    def units_sent(self) -> Decimal:
        return -self.sent_change

    @property
    def units_back(self) -> Decimal:
        return self.back_change

    def get_whereabouts_display(self) -> str:
        return Whereabouts(self.whereabouts).label


class DeliveryConfirmationQuerySet(models.QuerySet["DeliveryConfirmation"]):
    def effective(self) -> Self:
        """Words that were not taken back: what counts, at most one of each dispatch."""
        return self.filter(taken_back=None)

    def with_names(self) -> Self:
        return self.select_related("dispatch__operation", "by", "taken_back__by")


class DeliveryConfirmation(models.Model):
    """Somebody's word that a dispatch arrived. Rows are only ever added.

    Those of one dispatch are numbered by `sequence`. A guard lets the next one in only once every
    one before it was reversed, so that never two of them are in effect.
    """

    dispatch = models.ForeignKey(
        Dispatch, on_delete=models.PROTECT, related_name="arrivals", db_index=False
    )
    sequence = models.PositiveSmallIntegerField(default=0)
    arrived_on = models.DateField()
    note = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    token = models.CharField(max_length=64, blank=True, default="")

    objects = DeliveryConfirmationQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["dispatch", "sequence"], name="arrival_one_word_a_turn"
            ),
            # One form may bring word of many dispatches, of each of them once.
            models.UniqueConstraint(
                fields=["dispatch", "token"], condition=~Q(token=""), name="arrival_once_a_form"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.dispatch} arrived {self.arrived_on}"

    @property
    def stands(self) -> bool:
        return getattr(self, "taken_back", None) is None


class ConfirmationReversal(models.Model):
    """The word of an arrival was a mistake. Rows are only ever added."""

    arrival = models.OneToOneField(
        DeliveryConfirmation, on_delete=models.PROTECT, related_name="taken_back"
    )
    reason = models.CharField(max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        verbose_name_plural = "words taken back"
        constraints = [
            models.CheckConstraint(
                name="word_taken_back_says_why",
                condition=~Q(reason=""),
                violation_error_message="Say why it is taken back.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.arrival}, taken back"


class Return(models.Model):
    """Units that came back from one dispatch."""

    operation = models.OneToOneField(Operation, on_delete=models.PROTECT, related_name="returned")
    dispatch = models.ForeignKey(Dispatch, on_delete=models.PROTECT, related_name="returns")
    returned_on = models.DateField()
    reason = models.CharField(max_length=300)

    class Meta:
        ordering = ["-returned_on", "-pk"]
        constraints = [
            models.CheckConstraint(
                name="return_says_why",
                condition=~Q(reason=""),
                violation_error_message="Say why it came back.",
            )
        ]

    def __str__(self) -> str:
        return self.operation.reference


def _with_word(on: date) -> Q:
    """Goods come back from where they arrived: a return is word of an arrival, too."""
    heard = DeliveryConfirmation.objects.effective().filter(
        dispatch=OuterRef("pk"), arrived_on__lte=on
    )
    back = Return.objects.filter(dispatch=OuterRef("pk"), returned_on__lte=on)
    return Q(Exists(heard)) | Q(Exists(back))


def _sum_by(key: str, **which: OuterRef) -> Coalesce:
    moved = Posting.objects.filter(**which).order_by().values(key).annotate(total=Sum("quantity"))
    return Coalesce(
        Subquery(moved.values("total"), output_field=QuantityField()),
        Decimal(0),
        output_field=QuantityField(),
    )
