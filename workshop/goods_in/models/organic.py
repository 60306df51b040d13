"""What was done about organic status: papers looked at, suspensions, decisions, approvals."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from workshop.core.models import Upload
from workshop.goods_in.models.receipts import Receipt
from workshop.goods_in.models.suppliers import Certificate, Supplier
from workshop.ledger.models import Lot
from workshop.materials.models import LABEL_SCHEME


class OrganicPapers(models.Model):
    """What was looked at when organic goods came in: the papers of one receipt.

    `practices` are keys of `workshop/rules/organic/fraud_prevention.py`.
    """

    receipt = models.OneToOneField(Receipt, on_delete=models.PROTECT, related_name="papers")
    name_on_papers = models.CharField("supplier's name on the papers", max_length=120, blank=True)
    import_certificate = models.CharField(max_length=60, blank=True)
    checked_on = models.DateField("checked in the public database on", null=True, blank=True)
    checked_by = models.CharField(max_length=80, blank=True)
    practices = models.JSONField(default=list)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="organic_papers_checked_by_somebody",
                condition=Q(checked_on=None) | ~Q(checked_by=""),
                violation_error_message="Say who looked in the public database.",
            )
        ]

    def __str__(self) -> str:
        return f"papers of {self.receipt}"


class Act(models.Model):
    """Something decided: a row that is only ever added."""

    reason = models.CharField(max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    token = models.CharField(max_length=64, unique=True)

    class Meta:
        abstract = True
        ordering = ["pk"]


class StopKind(models.TextChoices):
    SUSPENDED = "suspended", "suspended"
    REVOKED = "revoked", "revoked"
    REINSTATED = "reinstated", "reinstated"


class CertificateStop(Act):
    """A certificate suspended, revoked or reinstated, from a day; with the lots held for it."""

    certificate = models.ForeignKey(Certificate, on_delete=models.PROTECT, related_name="stops")
    kind = models.CharField(max_length=10, choices=StopKind)
    from_day = models.DateField()
    held = models.JSONField(default=list, help_text="Codes of the lots put on hold.")

    class Meta(Act.Meta):
        constraints = [
            models.CheckConstraint(
                name="certificate_stop_kind_is_known", condition=Q(kind__in=StopKind.values)
            )
        ]

    def __str__(self) -> str:
        return f"{self.certificate} {self.kind}"


class OrganicDecision(Act):
    """A lot is organic, or is not, whatever it was received as: the last decision counts."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="organic_decisions")
    scheme = models.CharField(max_length=12, default=LABEL_SCHEME)
    is_organic = models.BooleanField()
    certificate = models.ForeignKey(
        Certificate, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )

    class Meta(Act.Meta):
        constraints = [
            models.CheckConstraint(
                name="organic_decision_has_a_certificate",
                condition=Q(is_organic=False) | Q(certificate__isnull=False),
                violation_error_message="An organic lot needs the certificate that covers it.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.lot} {'organic' if self.is_organic else 'not organic'}"


class Verdict(models.TextChoices):
    APPROVED = "approved", "approved"
    CONDITIONAL = "conditional", "approved with conditions"
    REFUSED = "refused", "not approved"


class SupplierReview(Act):
    """A supplier approved or not, on the answers to a questionnaire; `answers` by practice.

    Each answer holds `is_done`, `on` (a day as text, or empty) and `evidence` in words.
    """

    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="reviews")
    verdict = models.CharField(max_length=12, choices=Verdict)
    next_review = models.DateField()
    answers = models.JSONField(default=dict)
    document = models.ForeignKey(
        Upload, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta(Act.Meta):
        constraints = [
            models.CheckConstraint(
                name="supplier_review_verdict_is_known", condition=Q(verdict__in=Verdict.values)
            )
        ]

    def __str__(self) -> str:
        return f"{self.supplier} {self.get_verdict_display()}"
