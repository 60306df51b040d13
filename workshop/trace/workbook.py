"""A trace as a workbook, and the one sheet of key data that an authority asks for."""

from collections.abc import Iterable, Iterator, Sequence
from io import BytesIO

from django.utils import timezone
from openpyxl import Workbook
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE, Cell, MergedCell
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from workshop.ledger.models import Act, Kind, Lot
from workshop.trace.answer import Trace, arrival_of
from workshop.trace.happenings import Amounts, Happening
from workshop.trace.sheet import HEADS, CellValue, rows_of

WIDEST = 60
# What happened, as the trade and the authorities call it; sides of one operation apart.
WORDS = {
    (Act.RECEIPT, "out"): "received",
    (Act.BATCH, "in"): "used in a batch",
    (Act.BATCH, "out"): "made in a batch",
    (Act.PACKING, "in"): "used in packing",
    (Act.PACKING, "out"): "packed",
    (Act.DISPATCH, "in"): "shipped",
    (Act.RETURN, "out"): "returned",
    (Act.DISCARD, "in"): "thrown away",
    (Act.COUNT, "in"): "counted less",
    (Act.COUNT, "out"): "counted more",
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


def workbook(trace: Trace, told: Sequence[Happening]) -> bytes:
    """Three sheets: the lot's balance, every row of the trace, every event."""
    book = Workbook()
    _fill(_first(book, "Balance"), ["figure", "amount", "unit"], _balance(trace))
    rows = ([row.get(head) for head in HEADS] for row in rows_of(trace))
    _fill(book.create_sheet("Trace"), HEADS, rows)
    _fill(book.create_sheet("Key data"), KEY_HEADS, _key_rows(told))
    return _written(book)


def key_data(told: Sequence[Happening]) -> bytes:
    """One sheet that can be sorted: a row for every lot in everything that happened to it."""
    book = Workbook()
    _fill(_first(book, "Key data"), KEY_HEADS, _key_rows(told))
    return _written(book)


def _first(book: Workbook, title: str) -> Worksheet:
    page = book.worksheets[0]
    page.title = title
    return page


def _balance(trace: Trace) -> Iterator[Sequence[CellValue]]:
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
        ("counted difference", held.counted),
        ("on hand", held.on_hand),
        ("of that kept back as samples", trace.retained),
        ("unaccounted", held.unaccounted),
    ):
        yield name, amount, unit


def _key_rows(told: Iterable[Happening]) -> Iterator[Sequence[CellValue]]:
    for happening in told:
        for side, amounts in (("in", happening.taken), ("out", happening.put_out)):
            yield from _side(happening, side, amounts)


def _side(happening: Happening, side: str, amounts: Amounts) -> Iterator[Sequence[CellValue]]:
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


def _made_from(happening: Happening) -> str:
    """Containers stand apart, after the materials."""
    lots = [happening.lots[pk] for pk in happening.taken]
    lots.sort(key=lambda lot: lot.item.kind == Kind.PACKAGING)
    return ", ".join(lot.shown_code for lot in lots)


def _fill(page: Worksheet, heads: Sequence[str], rows: Iterable[Sequence[CellValue]]) -> None:
    widths = [len(head) for head in heads]
    for place, head in enumerate(heads, 1):
        page.cell(1, place, head).font = Font(bold=True)
    for number, row in enumerate(rows, 2):
        for place, value in enumerate(row, 1):
            _put(page.cell(number, place), value)
            widths[place - 1] = max(widths[place - 1], len(str(value or "")))
    for place, width in enumerate(widths, 1):
        page.column_dimensions[get_column_letter(place)].width = min(width, WIDEST) + 2
    page.freeze_panes = "A2"
    page.auto_filter.ref = page.dimensions


def _put(cell: Cell | MergedCell, value: CellValue) -> None:
    """Text stays text, so that no program runs it as a formula."""
    if isinstance(value, str):
        cell.value = ILLEGAL_CHARACTERS_RE.sub("", value)
        cell.data_type = "s"
    else:
        cell.value = value


def _written(book: Workbook) -> bytes:
    out = BytesIO()
    book.save(out)
    return out.getvalue()
