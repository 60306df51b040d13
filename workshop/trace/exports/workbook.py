"""A trace as a workbook, and the one sheet of key data that an authority asks for."""

from collections.abc import Iterable, Iterator, Sequence
from io import BytesIO
from typing import Any

from django.utils import timezone
from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE, Cell
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter

from workshop.ledger.models import ItemKind, Lot, OperationKind
from workshop.trace.exports.rows import HEADS, CellValue, rows_of
from workshop.trace.lot.events import Amounts, TraceEvent
from workshop.trace.lot.result import Trace, arrival_of

Row = Sequence[CellValue]
WIDEST = 60
BOLD = Font(bold=True)
# What happened, as the trade and the authorities call it; sides of one operation apart.
WORDS = {
    (OperationKind.RECEIPT, "out"): "received",
    (OperationKind.OPENING, "out"): "there before the book",
    (OperationKind.BATCH, "in"): "used in a batch",
    (OperationKind.BATCH, "out"): "made in a batch",
    (OperationKind.PACKING, "in"): "used in packing",
    (OperationKind.PACKING, "out"): "packed",
    (OperationKind.DISPATCH, "in"): "shipped",
    (OperationKind.RETURN, "out"): "returned",
    (OperationKind.DISCARD, "in"): "thrown away",
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
    _fill(book, "Balance", ["figure", "amount", "unit"], _balance(trace))
    rows = ([row.get(head) for head in HEADS] for row in rows_of(trace))
    _fill(book, "Trace", HEADS, rows)
    _fill(book, "Key data", KEY_HEADS, _key_rows(told))
    return _written(book)


def key_data(told: Sequence[TraceEvent]) -> bytes:
    """One sheet that can be sorted: a row for every lot in everything that happened to it."""
    book = Workbook(write_only=True)
    _fill(book, "Key data", KEY_HEADS, _key_rows(told))
    return _written(book)


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
        ("thrown away", held.discarded),
        ("dried, trimmed or sampled", held.shed),
        ("counted difference", held.counted),
        ("on hand", held.on_hand),
        ("of that kept back as samples", trace.retained),
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


def _fill(book: Workbook, title: str, heads: Sequence[str], rows: Iterable[Row]) -> None:
    """One sheet; a book that is only written wants to know its widths before the first row."""
    page = book.create_sheet(title)
    kept = [[_plain(value) for value in row] for row in rows]
    for place, head in enumerate(heads, 1):
        values = (str(row[place - 1] or "") for row in kept)
        width = max(map(len, values), default=0)
        letter = get_column_letter(place)
        page.column_dimensions[letter].width = min(max(width, len(head)), WIDEST) + 2
    page.freeze_panes = "A2"
    bold = [WriteOnlyCell(page, head) for head in heads]
    for cell in bold:
        cell.font = BOLD
    page.append(bold)
    for row in kept:
        page.append([_cell(page, value) for value in row])
    page.auto_filter.ref = f"A1:{get_column_letter(len(heads))}{len(kept) + 1}"


def _plain(value: CellValue) -> CellValue:
    return ILLEGAL_CHARACTERS_RE.sub("", value) if isinstance(value, str) else value


def _cell(page: Any, value: CellValue) -> CellValue | Cell:
    """Text stays text, so that no program runs it as a formula or shows it as an error."""
    if not isinstance(value, str) or not value.startswith(("=", "#")):
        return value
    cell = WriteOnlyCell(page, value)
    cell.data_type = "s"
    return cell


def _written(book: Workbook) -> bytes:
    out = BytesIO()
    book.save(out)
    return out.getvalue()
