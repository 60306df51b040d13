"""Labels of cartons, numbered, and tags for kettles and pails."""

from datetime import date, datetime
from decimal import Decimal

from django.db import transaction

from workshop.core import barcodes
from workshop.core.models import User
from workshop.core.paper import pdf
from workshop.kettle.models import Batch
from workshop.labels.codes import carton_elements
from workshop.labels.content import Label
from workshop.labels.layouts import Layout
from workshop.labels.models import PrintKind
from workshop.labels.numbered import laid_out, marks_of
from workshop.labels.services import note_print
from workshop.labels.sheets import put_numbered_on_paper
from workshop.ledger.models import Lot
from workshop.rules.gs1 import element_string

CARTON = Layout("carton", "Carton, 100 × 70 mm", Decimal(100), Decimal(70), Decimal(4))
NUMBER_MM = Decimal("6")


@transaction.atomic
def print_cartons(
    lot: Lot,
    *,
    per_carton: int,
    cartons: int,
    by: User,
    at: datetime,
    token: str,
    reason: str = "",
    market: str | None = None,
) -> bytes:
    """Note the carton labels of a lot and answer with them: count, lot, date, and their number.

    With a GTIN the code says what is inside: (02), (37), (15) and (10); else the lot alone.
    """
    noted = note_print(
        lot, cartons, by=by, at=at, reason=reason, layout=CARTON, token=token, market=market,
        kind=PrintKind.CARTON,
    )  # fmt: skip
    return carton_pdf(noted.standing.label, per_carton=per_carton, cartons=cartons)


def carton_pdf(label: Label, *, per_carton: int, cartons: int) -> bytes:
    elements = element_string(carton_elements(label, per_carton))[0] if label.gtin else ""
    code = (
        barcodes.gs1_datamatrix(elements, module_mm=Decimal("0.75"))
        if elements
        else barcodes.code128(label.lot.code, bar_mm=Decimal("0.5"), height_mm=Decimal(14))
    )
    context = {
        "label": label,
        "per_carton": per_carton,
        "cartons": cartons,
        "code": barcodes.as_source(code),
        "elements": elements,
    }
    own = (
        f"@page {{ size: {CARTON.width_mm}mm {CARTON.height_mm}mm; margin: {CARTON.margin_mm}mm }}"
        f"body {{ font-size: 4.2mm }} #here-number {{ height: {NUMBER_MM}mm }}"
    )
    document = laid_out("labels/paper_carton.html", context, own)
    numbers = [str(number) for number in range(1, cartons + 1)]
    marks = marks_of(
        document, size_mm=NUMBER_MM, numbers=numbers, elements=[], module_mm=CARTON.module_mm
    )
    return put_numbered_on_paper(document.write_pdf(), CARTON, marks)


def kettle_tag(batch: Batch, *, on: date) -> bytes:
    """A tag of 100 × 60 mm for what a kettle was poured into."""
    lot = batch.operation.lots.select_related("item").first()
    text = lot.code if lot else batch.operation.reference
    code = barcodes.code128(text, bar_mm=Decimal("0.5"), height_mm=Decimal(12))
    context = {"batch": batch, "lot": lot, "code": barcodes.as_source(code), "printed_on": on}
    return pdf("labels/paper_kettle.html", context, sheet="css/lot-tag.css")
