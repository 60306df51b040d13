"""Item, Lot, Operation, Posting: every physical thing, everything that happens, every gram."""

from datetime import date
from decimal import Decimal
from typing import Self

from django.conf import settings
from django.core.validators import RegexValidator
from django.db import models
from django.db.models import F, OuterRef, Q, Subquery, Sum
from django.db.models.functions import Coalesce
from simple_history.models import HistoricalRecords

from workshop.core.fields import QuantityField
from workshop.ledger.models.enums import ItemKind, OperationKind, Side, Status, Unit


class ItemQuerySet(models.QuerySet["Item"]):
    def active(self) -> Self:
        return self.filter(is_active=True)

    def of_kind(self, *kinds: ItemKind) -> Self:
        return self.filter(kind__in=kinds)

    def with_on_hand(self, *, on: date | None = None) -> Self:
        """Annotate `on_hand` over all lots and, with a day, `available` over usable ones."""
        items = self.annotate(
            on_hand=_sum_over(Posting.objects.filter(lot__item=OuterRef("pk")), "lot__item")
        )
        if on is None:
            return items
        usable = Posting.objects.filter(
            lot__item=OuterRef("pk"), lot__status=Status.RELEASED
        ).filter(Q(lot__best_before=None) | Q(lot__best_before__gte=on))
        return items.annotate(available=_sum_over(usable, "lot__item"))


class Item(models.Model):
    """A kind of thing: a material, packaging, a bulk made here, or a product."""

    code = models.CharField(
        max_length=20,
        unique=True,
        validators=[
            RegexValidator(
                r"^[A-Z0-9][A-Z0-9.-]*$", "Use capital letters, digits, dots and hyphens only."
            )
        ],
        error_messages={"unique": "Another item already has this code."},
    )
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=10, choices=ItemKind)
    unit = models.CharField(max_length=4, choices=Unit)
    is_active = models.BooleanField(default=True)

    history = HistoricalRecords()
    objects = ItemQuerySet.as_manager()
    on_hand: Decimal
    available: Decimal

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.CheckConstraint(
                name="item_kind_is_known", condition=Q(kind__in=ItemKind.values)
            ),
            models.CheckConstraint(name="item_unit_is_known", condition=Q(unit__in=Unit.values)),
            models.CheckConstraint(
                name="item_unit_fits_kind",
                condition=(
                    Q(kind=ItemKind.MATERIAL)
                    | Q(kind=ItemKind.PACKAGING)
                    | Q(kind=ItemKind.BULK, unit=Unit.GRAM)
                    | Q(kind=ItemKind.PRODUCT, unit=Unit.EACH)
                ),
                violation_error_message="A bulk is weighed in grams, a product counted in pieces.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Operation(models.Model):
    """One thing that happened, with all that it took in and put out."""

    kind = models.CharField(max_length=10, choices=OperationKind)
    reference = models.CharField(max_length=20, unique=True)
    token = models.CharField(max_length=64, unique=True)
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )

    class Meta:
        ordering = ["-opened_at", "-pk"]
        indexes = [models.Index(fields=["kind", "opened_at"], name="operation_kind_opened")]
        constraints = [
            models.CheckConstraint(
                name="operation_kind_is_known", condition=Q(kind__in=OperationKind.values)
            ),
            models.CheckConstraint(
                name="operation_closed_by_somebody",
                condition=Q(closed_at=None, closed_by=None)
                | Q(closed_at__isnull=False, closed_by__isnull=False),
            ),
            models.CheckConstraint(name="operation_has_a_token", condition=~Q(token="")),
        ]

    def __str__(self) -> str:
        return self.reference

    @property
    def is_closed(self) -> bool:
        return self.closed_at is not None


FIRST_EXPIRED_FIRST = (F("best_before").asc(nulls_last=True), "made_on", "pk")


class LotQuerySet(models.QuerySet["Lot"]):
    def with_on_hand(self) -> Self:
        """Annotate `on_hand`, the sum of the lot's postings.

        A subquery, not a join: it stays right next to any other annotation.
        """
        return self.annotate(on_hand=_sum_over(Posting.objects.filter(lot=OuterRef("pk")), "lot"))

    def released(self) -> Self:
        return self.filter(status=Status.RELEASED)

    def not_past(self, on: date) -> Self:
        """Lots still good on that day: the date itself is the last good day."""
        return self.filter(Q(best_before=None) | Q(best_before__gte=on))

    def first_expired_first(self) -> Self:
        return self.order_by(*FIRST_EXPIRED_FIRST)

    def available(self, *, on: date) -> Self:
        """Released lots with something on hand and not past their date, first expired first.

        These are offered; any other that is named is refused by the room that would use it:
        `kettle/weighing/lot_selection.py`, `packing/usable_lots.py`,
        `dispatch/services/dispatches.py`.
        """
        return (
            self.released().not_past(on).with_on_hand().filter(on_hand__gt=0).first_expired_first()
        )

    def in_stock(self) -> Self:
        """Lots whose book is not at nothing, above or below."""
        return self.with_on_hand().exclude(on_hand=0)

    def below_zero(self) -> Self:
        """One pass over the postings rather than a sum for every lot there ever was."""
        sums = Posting.objects.order_by().values("lot").annotate(total=Sum("quantity"))
        return self.with_on_hand().filter(pk__in=sums.filter(total__lt=0).values("lot"))


class Lot(models.Model):
    """One identified quantity of an item; how much there is of it, only the postings say."""

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="lots", db_index=False)
    code = models.CharField(max_length=7, unique=True)
    status = models.CharField(max_length=10, choices=Status, default=Status.QUARANTINE)
    made_on = models.DateField(help_text="The day it was made here, or came in.")
    best_before = models.DateField(null=True, blank=True)
    origin = models.ForeignKey(Operation, on_delete=models.PROTECT, related_name="lots")

    objects = LotQuerySet.as_manager()
    on_hand: Decimal
    place_name: str | None = None
    # For which planned batch some of it is kept, where somebody looked.
    kept_words: str = ""

    class Meta:
        ordering = ["-pk"]
        indexes = [
            models.Index(fields=["item", "status", "best_before"], name="lot_item_status_date"),
            models.Index(fields=["status", "best_before"], name="lot_status_date"),
        ]
        constraints = [
            models.CheckConstraint(
                name="lot_status_is_known", condition=Q(status__in=Status.values)
            ),
            models.CheckConstraint(
                name="lot_date_not_before_made",
                condition=Q(best_before=None) | Q(best_before__gte=F("made_on")),
                violation_error_message="The best-before date lies before the day it was made.",
            ),
            models.CheckConstraint(name="lot_has_a_code", condition=~Q(code="")),
        ]

    def __str__(self) -> str:
        return self.shown_code

    @property
    def shown_code(self) -> str:
        return f"{self.code[:4]}-{self.code[4:]}"


class PostingQuerySet(models.QuerySet["Posting"]):
    def effective(self) -> Self:
        """Postings that are neither a reversal nor reversed."""
        # Not corrects=None: SQLite would walk the unique index on corrects_id, of which it
        # expects one row where nearly every posting of the ledger has none.
        return self.alias(undoes=Coalesce("corrects_id", 0)).filter(undoes=0, reversal=None)


class Posting(models.Model):
    """One movement of one lot in one operation. Rows are added, never changed or removed.

    `quantity` is the change of the lot's stock: plus when the operation puts the lot out,
    minus when it takes the lot in, and the other way round for a reversal. So stock on hand is
    a plain sum, for which the index alone is read.
    """

    # No index of their own for these: the ones below begin with operation and with lot.
    operation = models.ForeignKey(
        Operation, on_delete=models.PROTECT, related_name="postings", db_index=False
    )
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="postings", db_index=False)
    side = models.CharField(max_length=3, choices=Side)
    quantity = QuantityField()
    at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+", db_index=False
    )
    token = models.CharField(max_length=64, unique=True)
    corrects = models.OneToOneField(
        "self", on_delete=models.PROTECT, related_name="reversal", null=True, blank=True
    )
    reason = models.CharField(max_length=300, blank=True)

    objects = PostingQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        indexes = [
            # Few postings undo another; the unique index on `corrects` has a row for every one.
            models.Index(
                fields=["corrects"],
                condition=Q(corrects__isnull=False),
                name="posting_undoing",
            ),
            models.Index(fields=["lot", "quantity"], name="posting_lot_quantity"),
            # A walk of the tree reads these two alone, and no row of the table.
            models.Index(
                fields=["lot", "side", "operation", "corrects", "quantity"],
                name="posting_walk_from_lot",
            ),
            models.Index(
                fields=["operation", "side", "lot", "corrects", "quantity"],
                name="posting_walk_from_operation",
            ),
        ]
        constraints = [
            models.CheckConstraint(name="posting_side_is_known", condition=Q(side__in=Side.values)),
            models.CheckConstraint(
                name="posting_sign_fits_side",
                condition=Q(corrects=None, side=Side.OUT, quantity__gt=0)
                | Q(corrects=None, side=Side.IN, quantity__lt=0)
                | Q(corrects__isnull=False, side=Side.OUT, quantity__lt=0)
                | Q(corrects__isnull=False, side=Side.IN, quantity__gt=0),
                violation_error_message="What goes in lowers the lot; what comes out raises it.",
            ),
            models.CheckConstraint(name="posting_has_a_token", condition=~Q(token="")),
            models.CheckConstraint(
                name="posting_reversal_says_why",
                condition=Q(corrects=None) | ~Q(reason=""),
                violation_error_message="Say why the posting is taken back.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.lot} {self.quantity:+}"

    @property
    def moved(self) -> Decimal:
        """The quantity as a person says it: always positive for an original posting."""
        change: Decimal = self.quantity
        return change if self.side == Side.OUT else -change


def _sum_over(postings: models.QuerySet[Posting], key: str) -> Coalesce:
    moved = postings.order_by().values(key).annotate(total=Sum("quantity")).values("total")
    return Coalesce(
        Subquery(moved, output_field=QuantityField()), Decimal(0), output_field=QuantityField()
    )
