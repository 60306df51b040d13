"""What an operation took in and did not put out: mass that leaves, each part said by its kind."""

from collections import defaultdict
from decimal import Decimal
from typing import Self

from django.conf import settings
from django.db import models
from django.db.models import Q, Sum

from workshop.core.fields import QuantityField
from workshop.ledger.models.enums import ShedKind
from workshop.ledger.models.ledger import Lot, Operation

# By kind, in whole milligrams.
ByKind = dict[str, int]


class ShedQuerySet(models.QuerySet["Shed"]):
    def effective(self) -> Self:
        """Rows that are neither a reversal nor reversed."""
        return self.filter(corrects=None, reversal=None)

    def by_kind(self) -> ByKind:
        """What left in all, in milligrams by kind; a row and its reversal cancel out."""
        rows = self.order_by().values_list("kind").annotate(total=Sum("quantity"))
        return {kind: _milligrams(total) for kind, total in rows}

    def by_operation(self) -> dict[int, ByKind]:
        """The same for each operation among these, by its key: one query."""
        found: dict[int, ByKind] = defaultdict(dict)
        rows = self.order_by().values_list("operation", "kind").annotate(total=Sum("quantity"))
        for operation, kind, total in rows:
            found[operation][kind] = _milligrams(total)
        return dict(found)

    def grams(self) -> Decimal:
        total: Decimal = self.aggregate(g=Sum("quantity", default=Decimal(0)))["g"]
        return total


def _milligrams(grams: Decimal) -> int:
    return int(grams.scaleb(3))


class Shed(models.Model):
    """Some grams that left an operation without becoming a lot. Rows are added only.

    In a batch: what went in = what was poured + what was shed + what nobody has explained. In an
    operation of its own kind (a loss in store) it says what became of all that was taken.

    `lot` is what left, where that is one lot and not the mixture: the herb that was strained out,
    the soap that dried. A lot strained out of an operation is not in what that made, though it
    stays linked to it; `stays` is the INCI name of what it left there, and `quantity` is the marc
    with the liquid in it. `quantity` is below zero in a reversal.
    """

    operation = models.ForeignKey(Operation, on_delete=models.PROTECT, related_name="sheds")
    kind = models.CharField(max_length=10, choices=ShedKind)
    lot = models.ForeignKey(
        Lot, on_delete=models.PROTECT, related_name="sheds", null=True, blank=True
    )
    quantity = QuantityField()
    is_estimated = models.BooleanField(
        default=False, help_text="Not weighed: by a figure kept with the formula, or by eye."
    )
    stays = models.CharField(max_length=200, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    token = models.CharField(max_length=64, unique=True)
    corrects = models.OneToOneField(
        "self", on_delete=models.PROTECT, related_name="reversal", null=True, blank=True
    )
    reason = models.CharField(max_length=300, blank=True)

    objects = ShedQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="shed_kind_is_known", condition=Q(kind__in=ShedKind.values)
            ),
            models.CheckConstraint(
                name="shed_sign_fits",
                condition=Q(corrects=None, quantity__gte=0)
                | Q(corrects__isnull=False, quantity__lte=0),
            ),
            models.CheckConstraint(
                name="shed_names_what_was_strained",
                condition=Q(lot__isnull=False) | ~Q(kind=ShedKind.STRAINED),
                violation_error_message="Say which lot was strained out.",
            ),
            models.CheckConstraint(
                name="shed_only_strained_leaves_something",
                condition=Q(kind=ShedKind.STRAINED) | Q(stays=""),
            ),
            models.CheckConstraint(
                name="shed_reversal_says_why", condition=Q(corrects=None) | ~Q(reason="")
            ),
            models.CheckConstraint(name="shed_has_a_token", condition=~Q(token="")),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, {abs(self.quantity)} g"
