"""The balance of a run's labels: what was issued is used, spoiled, returned, or missing."""

from dataclasses import dataclass

from django.db.models import Sum

from workshop.labels.models import LabelCount, Print, PrintKind
from workshop.ledger.models import Lot, Posting, Side


@dataclass(frozen=True)
class LabelBalance:
    """Labels of one finished lot; `units` is how many the run packed."""

    issued: int
    used: int
    spoiled: int
    returned: int
    units: int
    was_counted: bool

    @property
    def missing(self) -> int:
        return self.issued - self.used - self.spoiled - self.returned

    @property
    def balances(self) -> bool:
        return self.was_counted and self.missing == 0

    @property
    def sentence(self) -> str:
        """Where it stands, in words."""
        if not self.issued:
            return "No label was issued yet."
        if not self.was_counted:
            return f"{self.issued} labels issued, none accounted for yet."
        if self.missing:
            return f"{self.missing} of {self.issued} labels are not accounted for: look for them."
        if self.used != self.units:
            return (
                f"All {self.issued} labels are accounted for, but {self.used} were used on "
                f"{self.units} units: count again, or say why."
            )
        return f"All {self.issued} labels are accounted for."

    @property
    def is_sound(self) -> bool:
        return self.balances and self.used == self.units


def balance_of(lot: Lot) -> LabelBalance:
    issued = Print.objects.filter(lot=lot, kind=PrintKind.LABEL).aggregate(all=Sum("count"))
    counts = LabelCount.objects.filter(lot=lot).aggregate(
        used=Sum("used"), spoiled=Sum("spoiled"), returned=Sum("returned")
    )
    out = Posting.objects.effective().filter(lot=lot, operation=lot.origin, side=Side.OUT)
    units = out.aggregate(all=Sum("quantity"))["all"] or 0
    return LabelBalance(
        issued=issued["all"] or 0,
        used=counts["used"] or 0,
        spoiled=counts["spoiled"] or 0,
        returned=counts["returned"] or 0,
        units=int(units),
        was_counted=counts["used"] is not None,
    )
