"""Complaints counted by month, by what they have in common."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from django.urls import reverse

from workshop.aftersales.models import Complaint, Nature
from workshop.goods_in.models import ReceiptLine
from workshop.ledger.lot_tree import links_back
from workshop.ledger.models import Lot
from workshop.rules.dates.calendar_days import MONTH_NAMES, add_months
from workshop.trace.lot.ancestry import lots_behind

MONTHS = 12
# (what it is called, where it is shown)
Name = tuple[str, str]
UNKNOWN: Name = ("not known", "")


@dataclass(frozen=True)
class TrendRow:
    name: str
    address: str
    counts: list[int]

    @property
    def total(self) -> int:
        return sum(self.counts)


@dataclass(frozen=True)
class Trend:
    months: list[str]
    rows: list[TrendRow]
    sums: list[int]

    @property
    def total(self) -> int:
        return sum(self.sums)

    @property
    def all(self) -> TrendRow:
        """One complaint is one here, in however many rows it stands."""
        return TrendRow("Complaints in all", "", self.sums)


def trend(by: str, until: date) -> Trend:
    """Complaints of the last twelve months; one with two lots counts under each of them.

    `by` is one of `WAYS`. The number of queries does not depend on how many there are.
    """
    firsts = [add_months(until.replace(day=1), back - MONTHS + 1) for back in range(MONTHS)]
    complaints = list(
        Complaint.objects.filter(received_on__gte=firsts[0], received_on__lte=until).order_by("pk")
    )
    names = WAYS[by](complaints)
    place = {(first.year, first.month): number for number, first in enumerate(firsts)}
    counts: dict[Name, list[int]] = defaultdict(lambda: [0] * MONTHS)
    sums = [0] * MONTHS
    for complaint in complaints:
        month = place[complaint.received_on.year, complaint.received_on.month]
        sums[month] += 1
        for name in names.get(complaint.pk) or [UNKNOWN]:
            counts[name][month] += 1
    rows = [TrendRow(*name, months) for name, months in counts.items()]
    rows.sort(key=lambda row: (-row.total, row.name))
    return Trend([MONTH_NAMES[first.month - 1] for first in firsts], rows, sums)


Named = Mapping[int, Iterable[Name]]


def _by_nature(complaints: list[Complaint]) -> Named:
    return {row.pk: [(Nature(row.nature).label, "")] for row in complaints}


def _by_product(complaints: list[Complaint]) -> Named:
    rows = Complaint.objects.filter(pk__in=[row.pk for row in complaints], product__isnull=False)
    return {
        pk: [(name, reverse("ledger:item", args=[code]))]
        for pk, name, code in rows.values_list("pk", "product__name", "product__code")
    }


def _by_lot(complaints: list[Complaint]) -> Named:
    lots_of = _lots_of(complaints)
    rows = Lot.objects.filter(pk__in=_all(lots_of)).select_related("item")
    names = {row.pk: (f"{row}, {row.item}", reverse("trace:lot", args=[row.code])) for row in rows}
    return {pk: [names[lot] for lot in lots] for pk, lots in lots_of.items()}


def _by_supplier_lot(complaints: list[Complaint]) -> Named:
    lots_of = _lots_of(complaints)
    behind = lots_behind(links_back(_all(lots_of)))
    all_of = {
        pk: lots.union(*(behind.get(lot, frozenset()) for lot in lots))
        for pk, lots in lots_of.items()
    }
    lines = ReceiptLine.objects.filter(lot__in=_all(all_of)).select_related(
        "lot__item", "receipt__supplier"
    )
    names = {line.lot_id: _supplier_lot(line) for line in lines}
    return {pk: {names[lot] for lot in lots if lot in names} for pk, lots in all_of.items()}


def _supplier_lot(line: ReceiptLine) -> Name:
    name = f"{line.supplier_lot}, {line.lot.item}, {line.receipt.supplier}"
    return name, reverse("trace:lot", args=[line.lot.code])


def _lots_of(complaints: list[Complaint]) -> dict[int, set[int]]:
    links = Complaint.lots.through.objects.filter(complaint__in=[row.pk for row in complaints])
    lots_of: dict[int, set[int]] = defaultdict(set)
    for pk, lot in links.values_list("complaint", "lot"):
        lots_of[pk].add(lot)
    return lots_of


def _all(lots_of: Mapping[int, Iterable[int]]) -> set[int]:
    return {lot for lots in lots_of.values() for lot in lots}


WAYS: dict[str, Callable[[list[Complaint]], Named]] = {
    "nature": _by_nature,
    "product": _by_product,
    "lot": _by_lot,
    "supplier-lot": _by_supplier_lot,
}
