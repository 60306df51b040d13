"""Lot tags: what stands on one, and which paper they are laid out on."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from workshop.core.models import (
    Workshop,
)
from workshop.core.paper.barcodes import as_source, code128
from workshop.core.paper.pdf import pdf
from workshop.goods_in.bought_lot_organic_status import organic_look_up
from workshop.goods_in.models import ReceiptLine
from workshop.rules.markets.laws import law_of

STYLE = "css/lot-tag.css"
# Four whole dots at 203 dpi and about six at 300: wide enough for a hand scanner at arm's length.
BAR_MM = Decimal("0.5")


def label_pdf(lines: Sequence[ReceiptLine], *, on: date) -> bytes:
    """One tag a page, for a label printer loaded with labels of 100 × 60 mm."""
    return pdf("goods_in/print/tags.html", _context(lines, on, "roll"), sheet=STYLE)


def sheet_pdf(lines: Sequence[ReceiptLine], *, on: date) -> bytes:
    """All tags on plain sheets to cut apart: Letter in the United States, A4 elsewhere."""
    workshop = Workshop.objects.first()
    paper = law_of(workshop.market).paper if workshop else "letter"
    return pdf("goods_in/print/tags.html", _context(lines, on, paper), sheet=STYLE)


def _context(lines: Sequence[ReceiptLine], on: date, paper: str) -> dict[str, Any]:
    is_organic = organic_look_up(line.lot for line in lines)
    tags = [
        {"line": line, "lot": line.lot, "code": _code(line), "is_organic": is_organic(line.lot)}
        for line in lines
    ]
    return {"tags": tags, "paper": paper, "printed_on": on}


def _code(line: ReceiptLine) -> str:
    return as_source(code128(line.lot.code, bar_mm=BAR_MM, height_mm=Decimal(12)))
