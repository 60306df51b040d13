"""Suppliers, organic certificates, what a material is made of, and receipts."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Protocol, Self

from django.db import models
from django.db.models import Case, Count, F, Max, Q, Value, When
from simple_history.models import HistoricalRecords

from workshop.core import shown
from workshop.core.fields import FixedPointField, MoneyField, PercentField
from workshop.core.models import Upload
from workshop.ledger.models import Item, Kind, Lot, Operation, Posting, Status


class SupplierQuerySet(models.QuerySet["Supplier"]):
    def active(self) -> Self:
        return self.filter(is_active=True)

    def with_last_receipt(self) -> Self:
        return self.annotate(
            last_received_on=Max("receipts__received_on"),
            receipt_count=Count("receipts"),
        )


class Supplier(models.Model):
    name = models.CharField(
        max_length=120,
        unique=True,
        error_messages={"unique": "There is already a supplier of this name."},
    )
    contact = models.CharField(max_length=120, blank=True)
    address = models.TextField(blank=True)
    email = models.EmailField(blank=True)
    telephone = models.CharField(max_length=40, blank=True)
    note = models.TextField(blank=True)
    is_active = models.BooleanField("in use", default=True)

    history = HistoricalRecords()
    objects = SupplierQuerySet.as_manager()
    last_received_on: date | None
    receipt_count: int

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


LAPSING_WITHIN = timedelta(days=60)


class CertificateQuerySet(models.QuerySet["Certificate"]):
    def valid_on(self, day: date) -> Self:
        return self.filter(valid_from__lte=day, valid_to__gte=day)

    def covering(self, item: Item) -> Self:
        return self.filter(items=item)

    def lapsing_by(self, day: date) -> Self:
        return self.filter(valid_to__lte=day)

    def with_state(self, on: date) -> Self:
        """Annotate `state` on that day: valid, lapsing (within 60 days), lapsed or to come."""
        return self.annotate(
            state=Case(
                When(valid_from__gt=on, then=Value("to come")),
                When(valid_to__lt=on, then=Value("lapsed")),
                When(valid_to__lte=on + LAPSING_WITHIN, then=Value("lapsing")),
                default=Value("valid"),
            )
        )

    def in_state(self, state: str, on: date) -> Self:
        return self.with_state(on).filter(Q(state=state))


class Certificate(models.Model):
    """A supplier's organic certificate: what it covers, and between which days."""

    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="certificates")
    certifier = models.CharField(max_length=120)
    number = models.CharField(max_length=60)
    scope = models.TextField(blank=True, help_text="As the certificate words it.")
    valid_from = models.DateField()
    valid_to = models.DateField(help_text="The last day it is valid.")
    document = models.ForeignKey(
        Upload, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    items = models.ManyToManyField(Item, related_name="certificates", blank=True)

    history = HistoricalRecords(m2m_fields=[items])
    objects = CertificateQuerySet.as_manager()
    state: str

    class Meta:
        ordering = ["-valid_to", "number"]
        constraints = [
            models.CheckConstraint(
                name="certificate_ends_after_it_begins",
                condition=Q(valid_to__gte=F("valid_from")),
                violation_error_message="The certificate ends before it begins.",
            ),
            models.UniqueConstraint(
                name="certificate_is_entered_once",
                fields=["certifier", "number", "valid_from"],
                violation_error_message="This certificate is already entered.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.certifier} {self.number}"

    def is_valid_on(self, day: date) -> bool:
        return self.valid_from <= day <= self.valid_to


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
        ]

    def __str__(self) -> str:
        return self.inci_name

    @property
    def can_be_organic(self) -> bool:
        return self.is_organic or any(part.is_organic for part in self.parts.all())


def profile_of(item: Item) -> Profile | None:
    """What the item is made of, or None for packaging and whatever nobody has described."""
    return getattr(item, "profile", None)


class BlendPart(models.Model):
    """One constituent of a material that is bought as a blend; the parts add up to 100 %."""

    profile = models.ForeignKey(Profile, on_delete=models.CASCADE, related_name="parts")
    inci_name = models.CharField("INCI name", max_length=160)
    common_name = models.CharField(max_length=120, blank=True)
    kind = models.CharField(max_length=10, choices=Constituency, default=Constituency.PLAIN)
    is_organic = models.BooleanField(default=False)
    share = PercentField(help_text="Percent by weight.")

    history = HistoricalRecords()

    class Meta:
        ordering = ["-share", "inci_name"]
        constraints = [
            models.CheckConstraint(
                name="blend_part_share_is_possible",
                condition=Q(share__gt=0, share__lte=100),
                violation_error_message="A share lies above 0 and at most at 100 %%.",
            ),
            models.UniqueConstraint(
                name="blend_part_is_named_once", fields=["profile", "inci_name", "is_organic"]
            ),
        ]

    def __str__(self) -> str:
        return f"{self.inci_name} {self.share} %"


class ReceiptQuerySet(models.QuerySet["Receipt"]):
    def with_counts(self) -> Self:
        """Annotate how many lots came in and how many of them still wait for a decision."""
        waiting = Q(lines__lot__status__in=[Status.QUARANTINE, Status.ON_HOLD])
        counted = self.annotate(
            lot_count=Count("lines"), waiting_count=Count("lines", filter=waiting)
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
        )

    def sound(self) -> Self:
        """Lines whose checks on arrival were all good: what came too warm is not among them."""
        smell = Q(smell_is_good=True) | Q(lot__item__kind=Kind.PACKAGING)
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
    makers_expiry = models.DateField(null=True, blank=True)
    certificate = models.ForeignKey(
        Certificate, on_delete=models.PROTECT, null=True, blank=True, related_name="receipt_lines"
    )
    is_organic = models.BooleanField(default=False)
    analysis = models.ForeignKey(
        Upload, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    seal_is_good = models.BooleanField(default=False)
    smell_is_good = models.BooleanField(default=False)
    look_is_good = models.BooleanField(default=False)
    temperature_c = FixedPointField(places=1, null=True, blank=True)
    checks_note = models.CharField(max_length=300, blank=True)
    cost = MoneyField(null=True, blank=True)

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
        "smell": checked.smell_is_good or item.kind == Kind.PACKAGING,
    }
    bad = [name for name, is_good in checks.items() if not is_good]
    profile = profile_of(item)
    warmest = profile.max_arrival_c if profile else None
    if warmest is None or checked.temperature_c is None or checked.temperature_c <= warmest:
        return bad
    return [*bad, f"{shown.number(checked.temperature_c)} °C, above {shown.number(warmest)} °C"]
