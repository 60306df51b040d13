"""What the bar codes of a label carry, in whole dots of the printer it is laid out for."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from workshop.core.errors import ActionRefused
from workshop.core.paper import barcodes
from workshop.labels.content.label import Label
from workshop.labels.layout.label_stock import Layout
from workshop.labels.models import CodeKind
from workshop.rules.codes.gs1 import digital_link, element_string, gtin14

LINK_BASE = "https://id.gs1.org"
_SIDES = re.compile(r'\b(?:width|height)="([\d.]+)mm"')


def elements(label: Label) -> list[tuple[str, str | date]]:
    """GTIN, lot and best before as GS1 elements; fixed lengths first, so no separator is lost."""
    best_before = label.lot.best_before
    dated: list[tuple[str, str | date]] = [("15", best_before)] if best_before else []
    return [("01", gtin14(label.gtin)), *dated, ("10", label.lot.code)]


def element_text(label: Label) -> str:
    """The element string as people read it."""
    return element_string(elements(label))[0]


def link(label: Label) -> str:
    """The GS1 Digital Link of the lot, under the address of the product's design."""
    return digital_link(label.design.link_base or LINK_BASE, elements(label))


@dataclass(frozen=True)
class BarcodeImage:
    """A code as the address of a picture, and the paper that it takes."""

    source: str
    width_mm: float
    height_mm: float


def codes_of(label: Label, layout: Layout) -> dict[str, BarcodeImage]:
    """The pictures of a label's codes: that of its lot, and its GTIN for the till."""
    height = max(Decimal(5), min(Decimal(8), layout.height_mm * Decimal("0.16")))
    codes = {"code": _picture(_lot_code(label, layout, height))}
    if label.gtin:
        till = barcodes.ean(label.gtin, bar_mm=layout.bar_mm, height_mm=height + 1)
        codes["gtin"] = _picture(till)
    return codes


def _picture(svg: str) -> BarcodeImage:
    width, height = (float(mm) for mm in _SIDES.findall(svg)[:2])
    return BarcodeImage(barcodes.as_source(svg), width, height)


def _lot_code(label: Label, layout: Layout, height_mm: Decimal) -> str:
    """The code that the design asks for; without a GTIN only the lot can be told."""
    kind = label.design.code
    if not label.gtin or kind == CodeKind.LOT:
        return barcodes.code128(label.lot.code, bar_mm=layout.bar_mm, height_mm=height_mm)
    if kind == CodeKind.LINK:
        return barcodes.qr(link(label), module_mm=layout.module_mm)
    draw = barcodes.gs1_datamatrix if kind == CodeKind.DATAMATRIX else barcodes.gs1_qr
    return draw(element_text(label), module_mm=layout.module_mm)


def numbered_elements(label: Label, number: int) -> str:
    """The element string of one numbered unit: the number is its serial (21), of one length."""
    if not label.gtin:
        raise ActionRefused("Numbered labels need the GTIN of the product.", field="numbered")
    return element_string([*elements(label)[:-1], ("21", f"{number:05}"), *elements(label)[-1:]])[0]


def numbered_code_mm(label: Label, layout: Layout) -> Decimal:
    """The side of the square that the code of a numbered unit takes."""
    rows = barcodes.gs1_datamatrix_rows(numbered_elements(label, 1))
    return len(rows) * layout.module_mm


def carton_elements(label: Label, count: int, number: str) -> Sequence[tuple[str, str | date]]:
    """A carton's own number (00), the GTIN of its units (02), how many (37), date and lot.

    The count asks for both the number and the GTIN: GS1 General Specifications, section 4.14.
    """
    best_before = label.lot.best_before
    dated: list[tuple[str, str | date]] = [("15", best_before)] if best_before else []
    held = ("02", gtin14(label.gtin))
    return [("00", number), held, *dated, ("37", str(count)), ("10", label.lot.code)]
