"""Suppliers and their organic certificates."""

from datetime import date, timedelta
from typing import Self

from django.db import models
from django.db.models import Case, Count, F, Max, Q, Value, When
from simple_history.models import HistoricalRecords

from workshop.core.models import Upload
from workshop.ledger.models import Item
from workshop.materials.models import LABEL_SCHEME


class SupplierQuerySet(models.QuerySet["Supplier"]):
    def active(self) -> Self:
        return self.filter(is_active=True)

    def review_due_by(self, day: date) -> Self:
        """Those in use whose last review names a day for the next one, up to this day."""
        known = self.active().annotate(review_due=Max("reviews__pk"))
        return known.filter(reviews__pk=F("review_due"), reviews__next_review__lte=day).annotate(
            review_due=F("reviews__next_review")
        )

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
        """Annotate `state` on that day: valid, renewal due (within 60 days), expired or to come."""
        return self.annotate(
            state=Case(
                When(valid_from__gt=on, then=Value("to come")),
                When(valid_to__lt=on, then=Value("expired")),
                When(valid_to__lte=on + LAPSING_WITHIN, then=Value("renewal due")),
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
    scheme = models.CharField(max_length=12, default=LABEL_SCHEME)
    holder = models.CharField(
        "name on the certificate",
        max_length=120,
        blank=True,
        help_text="If it is another than the supplier's name here.",
    )
    operation_number = models.CharField(
        "operation in the public database", max_length=40, blank=True
    )
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

    @property
    def holders_name(self) -> str:
        return self.holder or self.supplier.name

    def is_valid_on(self, day: date) -> bool:
        return self.valid_from <= day <= self.valid_to
