"""A balance of one item as it stands on paper: each figure with the records it is made of."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.utils import timezone

from workshop.kettle.models import BatchState
from workshop.ledger.models import Item, Lot, Operation, OperationKind, Posting, Shed, ShedKind
from workshop.materials.models import LABEL_SCHEME, OrganicScheme
from workshop.organic.balance.query import FIGURES, Period, sums
from workshop.rules.organic.mass_balance import MassBalance, Verdict, verdict

USUAL_TOLERANCE = Decimal(2)  # per cent; common practice, no source
# The figures in the order of the sum, with their sign there and their heading.
ORDER = (
    ("opening", "", "A. Opening stock"),
    ("taken_over", "+", "Stock before the book"),
    ("received", "+", "B. Received"),
    ("made", "+", "Made here"),
    ("used", "−", "Used"),
    ("sent", "−", "Sold or sent"),
    ("returned", "+", "Returned by customers"),
    ("written_off", "−", "Written off"),
    ("shed", "−", "Lost in store, dried, trimmed or sampled"),
    ("counted", "±", "Stock counts"),
)


@dataclass(frozen=True)
class Entry:
    """One record within a figure, in whole units; `group` is a heading such as the formula."""

    quantity: Decimal
    reference: str
    words: str = ""
    group: str = ""
    day: date | None = None
    lot: Lot | None = None
    note: str = ""
    is_open: bool = False


@dataclass(frozen=True)
class Figure:
    """One figure of the sum with its entries, and what each group of them comes to."""

    key: str
    sign: str
    heading: str
    total: Decimal
    entries: list[Entry]

    @property
    def groups(self) -> list[tuple[str, Decimal, list[Entry]]]:
        found: dict[str, list[Entry]] = defaultdict(list)
        for entry in self.entries:
            found[entry.group].append(entry)
        return [
            (name, sum((entry.quantity for entry in entries), Decimal()), entries)
            for name, entries in sorted(found.items())
        ]


@dataclass(frozen=True)
class Statement:
    """The balance of one item over a period, ready for a page, paper or spreadsheet."""

    item: Item
    period: Period
    balance: MassBalance
    figures: list[Figure]
    tolerance: Decimal
    is_organic: bool | None
    as_known_today: bool
    first_count: Posting | None
    last_count: Posting | None
    begins_before_the_book: bool
    shed_by_kind: Mapping[str, Decimal] = field(default_factory=dict)

    @property
    def closing(self) -> Decimal:
        return units(self.balance.closing)

    @property
    def expected(self) -> Decimal:
        return units(self.balance.expected)

    @property
    def unexplained(self) -> Decimal:
        return units(self.balance.unexplained)

    @property
    def unexplained_percent(self) -> Decimal | None:
        return percent(self.balance.unexplained_share)

    @property
    def outgoing(self) -> Decimal:
        """C, as the certifiers' form has it: A + B − D."""
        return units(self.balance.available - self.balance.closing)

    @property
    def verdict(self) -> Verdict:
        return verdict(self.balance, Fraction(self.tolerance))

    @property
    def per_unit_g(self) -> Decimal | None:
        """Grams in one unit of a product, as its label says."""
        product = getattr(self.item, "product", None)
        fill: Decimal | None = product.fill_g if product else None
        return fill

    @property
    def grams(self) -> MassBalance | None:
        """A product's balance in milligrams, at the net weight of its label."""
        return self.balance.times(self.per_unit_g) if self.per_unit_g else None

    @property
    def sums_in_grams(self) -> list[tuple[str, str, Decimal]]:
        """The same sum in grams: sign, heading and amount of each figure that is not nothing."""
        if self.grams is None:
            return []
        found = [
            (sign, heading, units(getattr(self.grams, key)))
            for key, sign, heading in ORDER
            if key == "opening" or getattr(self.grams, key)
        ]
        return [*found, ("=", "D. Closing stock", units(self.grams.closing))]

    @property
    def notices(self) -> list[str]:
        """What the reader must know beside the figures."""
        found = []
        if self.begins_before_the_book:
            found.append("The period begins before the book: there is no opening stock to count.")
        elif self.first_count is None:
            found.append("Opening stock was not counted: it is what the book said on the day.")
        if self.last_count is None:
            found.append("Closing stock was not counted in the period: it is what the book says.")
        if any(entry.is_open for figure in self.figures for entry in figure.entries):
            found.append(
                "A record that was open at the end of the period may stand in the next one too."
            )
        return found


def units(thousandths: int) -> Decimal:
    return Decimal(thousandths).scaleb(-3)


def percent(share: Fraction | None) -> Decimal | None:
    """Per cent with three decimals."""
    if share is None:
        return None
    return round(Decimal(share.numerator * 100) / Decimal(share.denominator), 3)


def tolerance_of_scheme(code: str = LABEL_SCHEME) -> Decimal:
    kept = OrganicScheme.objects.filter(code=code)
    found = kept.first()
    return USUAL_TOLERANCE if found is None else found.tolerance


def statement(
    item: Item, period: Period, *, is_organic: bool | None = None, as_known_today: bool = True
) -> Statement:
    """Balance one item: a handful of queries, however many records there are."""
    asked: dict[str, Any] = {
        "items": [item.pk], "is_organic": is_organic, "as_known_today": as_known_today,
    }  # fmt: skip
    moved = sums(period, ["operation", "lot"], **asked)
    total: MassBalance = sum(moved.balances().values(), MassBalance())
    operations = _operations({key[0] for key in moved.moved})
    lots = _lots({key[1] for key in moved.moved})
    entries: dict[str, list[Entry]] = defaultdict(list)
    opening: dict[int, int] = defaultdict(int)
    for (operation, lot, kind, side), amount in moved.moved.items():
        opening[lot] += amount.before
        name, sign = FIGURES[kind, side]
        if amount.within:
            quantity = units(sign * amount.within)
            entries[name].append(_entry(operations[operation], lots[lot], quantity, period))
    entries["opening"] = [_of_lot(lots[pk], units(left)) for pk, left in opening.items() if left]
    return Statement(
        item=item,
        period=period,
        balance=total,
        figures=list(_figures(total, entries)),
        tolerance=tolerance_of_scheme(),
        is_organic=is_organic,
        as_known_today=as_known_today,
        first_count=_count_before(item, period),
        last_count=_count_within(item, period),
        begins_before_the_book=not any(row.before for row in moved.moved.values()),
        shed_by_kind=_shed(item, period),
    )


def _figures(total: MassBalance, entries: Mapping[str, list[Entry]]) -> Iterator[Figure]:
    for key, sign, heading in ORDER:
        rows = sorted(entries.get(key, ()), key=lambda row: (row.day or date.min, row.reference))
        yield Figure(key, sign, heading, units(getattr(total, key)), rows)


def _operations(keys: Iterable[int]) -> dict[int, Operation]:
    rows = Operation.objects.select_related(
        "batch__version__formula",
        "packing_run__product__item",
        "dispatch__customer",
        "returned__dispatch__customer",
        "receipt__supplier",
        "receipt__papers",
    ).order_by()
    return _found(rows, keys)


def _lots(keys: Iterable[int]) -> dict[int, Lot]:
    rows = Lot.objects.select_related(
        "item", "origin", "receipt_line__certificate", "receipt_line__receipt__supplier"
    ).order_by()
    return _found(rows, keys)


def _found(rows: Any, keys: Iterable[int]) -> dict[int, Any]:
    """By key; not in_bulk, which asks once for every 999 on SQLite."""
    return {row.pk: row for row in rows.filter(pk__in=list(keys))}


def _of_lot(lot: Lot, quantity: Decimal) -> Entry:
    note = "before the book" if lot.origin.kind == OperationKind.OPENING else ""
    return Entry(quantity, lot.shown_code, str(lot.item), day=lot.made_on, lot=lot, note=note)


def _entry(operation: Operation, lot: Lot, quantity: Decimal, period: Period) -> Entry:
    words, group, note = _told(operation, lot)
    day = timezone.localdate(operation.opened_at)
    if hasattr(operation, "receipt"):
        day = operation.receipt.received_on
    ends = operation.closed_at
    is_open = ends is None or (operation.kind == OperationKind.BATCH and ends >= period.ends)
    return Entry(quantity, operation.reference, words, group, day, lot, note, is_open)


def _told(operation: Operation, lot: Lot) -> tuple[str, str, str]:
    """Words, group and note of a record."""
    if hasattr(operation, "receipt"):
        return _receipt_told(operation, lot)
    if hasattr(operation, "batch"):
        formula = operation.batch.version.formula.name
        stopped = operation.batch.state == BatchState.ABANDONED
        return formula, "stopped batches" if stopped else formula, ""
    if hasattr(operation, "packing_run"):
        product = str(operation.packing_run.product)
        return product, product, ""
    if hasattr(operation, "dispatch"):
        customer = str(operation.dispatch.customer)
        return customer, customer, operation.dispatch.customer_reference
    if hasattr(operation, "returned"):
        return str(operation.returned.dispatch.customer), "", operation.returned.reason
    words = operation.get_kind_display()
    return words, words if operation.kind == OperationKind.UNPACKING else "", ""


def _receipt_told(operation: Operation, lot: Lot) -> tuple[str, str, str]:
    line = getattr(lot, "receipt_line", None)
    if line is None:
        return "", "", ""
    papers = getattr(operation.receipt, "papers", None)
    notes = [f"supplier lot {line.supplier_lot}"]
    notes.append(str(line.certificate) if line.is_organic else "not organic")
    if papers and papers.import_certificate:
        notes.append(f"import certificate {papers.import_certificate}")
    if lot.status == "rejected":
        notes.append("rejected")
    return str(operation.receipt.supplier), str(operation.receipt.supplier), ", ".join(notes)


def _counts(item: Item) -> Any:
    rows = Posting.objects.filter(lot__item=item, operation__kind=OperationKind.COUNT)
    return rows.effective().select_related("operation", "by").order_by("at", "pk")


def _count_before(item: Item, period: Period) -> Posting | None:
    found: Posting | None = _counts(item).filter(at__lt=period.begins).last()
    return found


def _count_within(item: Item, period: Period) -> Posting | None:
    within = _counts(item).filter(at__gte=period.begins, at__lt=period.ends)
    found: Posting | None = within.last()
    return found


def _shed(item: Item, period: Period) -> dict[str, Decimal]:
    rows = Shed.objects.filter(
        lot__item=item, operation__kind=OperationKind.SHED,
        at__gte=period.begins, at__lt=period.ends,
    )  # fmt: skip
    words = dict(ShedKind.choices)
    return {words[kind]: units(amount) for kind, amount in rows.by_kind().items() if amount}
