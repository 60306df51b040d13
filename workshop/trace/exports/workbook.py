"""A trace as a workbook, and the one sheet of key data that an authority asks for."""

from collections.abc import Iterable, Iterator, Sequence

from django.utils import timezone
from openpyxl import Workbook

from workshop.core.files.spreadsheets import fill, written
from workshop.ledger.models import ItemKind, Lot, OperationKind
from workshop.trace.exports.rows import HEADS, CellValue, rows_of
from workshop.trace.lot.events import Amounts, TraceEvent
from workshop.trace.lot.result import Trace, arrival_of

Row = Sequence[CellValue]
# What happened, as the trade and the authorities call it; sides of one operation apart.
WORDS = {
    (OperationKind.RECEIPT, "out"): "received",
    (OperationKind.OPENING, "out"): "there before the book",
    (OperationKind.BATCH, "in"): "used in a batch",
    (OperationKind.BATCH, "out"): "made in a batch",
    (OperationKind.PACKING, "in"): "used in packing",
    (OperationKind.PACKING, "out"): "packed",
    (OperationKind.UNPACKING, "in"): "unpacked",
    (OperationKind.UNPACKING, "out"): "came out of its packs",
    (OperationKind.DISPATCH, "in"): "shipped",
    (OperationKind.RETURN, "out"): "returned",
    (OperationKind.DISCARD, "in"): "written off",
    (OperationKind.SHED, "in"): "dried, trimmed or sampled",
    (OperationKind.COUNT, "in"): "counted less",
    (OperationKind.COUNT, "out"): "counted more",
}
KEY_HEADS = [
    "what happened",
    "day",
    "time",
    "lot",
    "product or material",
    "quantity",
    "unit",
    "from or to",
    "their address",
    "their reference",
    "supplier lot",
    "certificate",
    "best before",
    "made from lots",
    "our record",
    "by",
]


def workbook(trace: Trace, told: Sequence[TraceEvent]) -> bytes:
    """Three sheets: the lot's balance, every row of the trace, every event."""
    book = Workbook(write_only=True)
    fill(book, "Balance", ["figure", "amount", "unit"], _balance(trace))
    rows = ([row.get(head) for head in HEADS] for row in rows_of(trace))
    fill(book, "Trace", HEADS, rows)
    fill(book, "Key data", KEY_HEADS, _key_rows(told))
    return written(book)


def key_data(told: Sequence[TraceEvent]) -> bytes:
    """One sheet that can be sorted: a row for every lot in everything that happened to it."""
    book = Workbook(write_only=True)
    fill(book, "Key data", KEY_HEADS, _key_rows(told))
    return written(book)


def _balance(trace: Trace) -> Iterator[Row]:
    held, unit = trace.balance, trace.lot.item.unit
    yield f"lot {trace.lot}, {trace.lot.item}", None, None
    for name, amount in (
        ("received or made", held.came_in),
        ("used", held.used),
        ("sent out", held.sent),
        ("came back", held.returned),
        ("of what is out: on its way", trace.on_its_way),
        ("of what is out: with customers", trace.with_customers),
        ("written off", held.discarded),
        ("dried, trimmed or sampled", held.shed),
        ("counted difference", held.counted),
        ("on hand", held.on_hand),
        ("of that retained as samples", trace.retained),
        ("unaccounted", held.unaccounted),
    ):
        yield name, amount, unit


def _key_rows(told: Iterable[TraceEvent]) -> Iterator[Row]:
    for happening in told:
        for side, amounts in (("in", happening.taken), ("out", happening.put_out)):
            yield from _side(happening, side, amounts)


def _side(happening: TraceEvent, side: str, amounts: Amounts) -> Iterator[Row]:
    at = timezone.localtime(happening.at)
    partner = happening.partner
    who = (partner.name, partner.address, partner.their_reference) if partner else (None,) * 3
    for pk, amount in amounts.items():
        lot = happening.lots[pk]
        yield (
            WORDS.get((happening.act, side), f"{happening.act.label}, {side}"),
            at.date(),
            f"{at:%H:%M}",
            lot.shown_code,
            lot.item.name,
            amount,
            lot.item.unit,
            *who,
            *_supply(lot),
            lot.best_before,
            _made_from(happening) if side == "out" and happening.is_transforming else None,
            str(happening.operation),
            str(happening.by),
        )


def _supply(lot: Lot) -> tuple[str | None, str | None]:
    line = arrival_of(lot)
    if line is None:
        return None, None
    return line.supplier_lot, str(line.certificate) if line.certificate else None


def _made_from(happening: TraceEvent) -> str:
    """Containers stand apart, after the materials."""
    lots = [happening.lots[pk] for pk in happening.taken]
    lots.sort(key=lambda lot: lot.item.kind == ItemKind.PACKAGING)
    return ", ".join(lot.shown_code for lot in lots)
