"""Receipts, the lots that came with them, and the checks on arrival."""

from datetime import date
from decimal import Decimal
from typing import Protocol, Self

from django.db import models
from django.db.models import Count, F, Q

from workshop.core import formatting
from workshop.core.fields import FixedPointField, MoneyField
from workshop.core.models import Upload
from workshop.goods_in.models.suppliers import Certificate, Supplier
from workshop.ledger.models import Amendment, Item, ItemKind, Lot, Operation, Posting, Status
from workshop.materials.models import LABEL_SCHEME, profile_of


class ReceiptQuerySet(models.QuerySet["Receipt"]):
    def with_counts(self) -> Self:
        """Annotate how many lots came in and how many of them still wait for a decision."""
        waiting = Q(lines__lot__status__in=[Status.QUARANTINE, Status.ON_HOLD])
        counted = self.annotate(
            lot_count=Count("lines", filter=Q(lines__taken_back=None)),
            waiting_count=Count("lines", filter=waiting),
        )
        # A grouped query forgets the order of its table.
        return counted.order_by("-received_on", "-pk")


class Receipt(models.Model):
    operation = models.OneToOneField(Operation, on_delete=models.PROTECT, related_name="receipt")
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="receipts")
    received_on = models.DateField()
    delivery_note = models.CharField(max_length=60, blank=True)
    note = models.TextField(blank=True)

    objects = ReceiptQuerySet.as_manager()
    lot_count: int
    waiting_count: int

    class Meta:
        ordering = ["-received_on", "-pk"]

    def __str__(self) -> str:
        return self.operation.reference


class ReceiptLineQuerySet(models.QuerySet["ReceiptLine"]):
    def with_lots(self) -> Self:
        return self.select_related(
            "lot__item__profile",
            "posting",
            "certificate",
            "receipt__supplier",
            "receipt__operation",
            "taken_back__by",
        )

    def effective(self) -> Self:
        """Lines that were not taken back."""
        return self.filter(taken_back=None)

    def sound(self) -> Self:
        """Lines whose checks on arrival were all good: what came too warm is not among them."""
        smell = Q(smell_is_good=True) | Q(lot__item__kind=ItemKind.PACKAGING)
        too_warm = Q(temperature_c__gt=F("lot__item__profile__max_arrival_c"))
        return self.filter(smell, seal_is_good=True, look_is_good=True).exclude(too_warm)

    def waiting_and_sound(self, on: date) -> Self:
        """Lines an owner may release without more words."""
        in_date = Q(lot__best_before=None) | Q(lot__best_before__gte=on)
        return self.sound().filter(in_date, lot__status=Status.QUARANTINE).with_lots()


class ReceiptLine(models.Model):
    """One lot as it came in; the quantity itself is its posting."""

    receipt = models.ForeignKey(Receipt, on_delete=models.PROTECT, related_name="lines")
    lot = models.OneToOneField(Lot, on_delete=models.PROTECT, related_name="receipt_line")
    posting = models.OneToOneField(Posting, on_delete=models.PROTECT, related_name="receipt_line")
    supplier_lot = models.CharField(max_length=60, db_index=True)
    quantity_as_written = models.CharField(max_length=40)
    # The GTIN of the supplier's container, 14 digits, where it was scanned.
    supplier_gtin = models.CharField(max_length=14, blank=True, db_index=True)
    makers_expiry = models.DateField(null=True, blank=True)
    certificate = models.ForeignKey(
        Certificate, on_delete=models.PROTECT, null=True, blank=True, related_name="receipt_lines"
    )
    is_organic = models.BooleanField(default=False)
    # As the certificate had them on the day: what it says later changes nothing here.
    scheme = models.CharField(max_length=12, default=LABEL_SCHEME)
    operation_number = models.CharField(max_length=40, blank=True)
    analysis = models.ForeignKey(
        Upload, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    seal_is_good = models.BooleanField(default=False)
    smell_is_good = models.BooleanField(default=False)
    look_is_good = models.BooleanField(default=False)
    temperature_c = FixedPointField(places=1, null=True, blank=True)
    checks_note = models.CharField(max_length=300, blank=True)
    cost = MoneyField(null=True, blank=True)
    # Who took it back, when and why: it never came in, and counts for nothing.
    taken_back = models.ForeignKey(
        Amendment, on_delete=models.PROTECT, null=True, blank=True, related_name="receipt_lines"
    )

    objects = ReceiptLineQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="receipt_line_organic_has_a_certificate",
                condition=Q(is_organic=False) | Q(certificate__isnull=False),
                violation_error_message="An organic lot needs the certificate that covers it.",
            ),
            models.CheckConstraint(
                name="receipt_line_has_a_supplier_lot", condition=~Q(supplier_lot="")
            ),
            models.CheckConstraint(
                name="receipt_line_cost_is_not_negative",
                condition=Q(cost=None) | Q(cost__gte=0),
                violation_error_message="A cost is not below zero.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.lot} ({self.supplier_lot})"

    @property
    def not_good(self) -> list[str]:
        return not_good(self.lot.item, self)


class Checked(Protocol):
    """What was looked at when a lot arrived, before and after it is written down."""

    @property
    def seal_is_good(self) -> bool: ...
    @property
    def smell_is_good(self) -> bool: ...
    @property
    def look_is_good(self) -> bool: ...
    @property
    def temperature_c(self) -> Decimal | None: ...


def not_good(item: Item, checked: Checked) -> list[str]:
    """The checks on arrival that were not found good, in words; packaging is not smelled at."""
    checks = {
        "seal": checked.seal_is_good,
        "look": checked.look_is_good,
        "smell": checked.smell_is_good or item.kind == ItemKind.PACKAGING,
    }
    bad = [name for name, is_good in checks.items() if not is_good]
    profile = profile_of(item)
    warmest = profile.max_arrival_c if profile else None
    if warmest is None or checked.temperature_c is None or checked.temperature_c <= warmest:
        return bad
    return [
        *bad,
        f"{formatting.number(checked.temperature_c)} °C, above {formatting.number(warmest)} °C",
    ]
