"""Labels of cartons, numbered, and tags for kettles and pails.

With a GS1 company prefix each carton has a number of its own (SSCC). Its label then carries that
number in a GS1-128, and in a GS1 DataMatrix the number with what is inside: (00), (02), (15), (37)
and (10). Source: GS1 General Specifications: a logistic unit bears its SSCC in a GS1-128; the
count (37) stands only beside (00) and (02), in section 4.14 and in the Barcode Syntax Dictionary.
That a two-dimensional code may stand beside the GS1-128, its bars of 0.495 mm and more and their
least height of 31.75 mm are from memory.

Without the prefix, or without a GTIN, nobody may number cartons for GS1: the label carries a plain
Code 128 of the lot, which is ours alone, and says the rest in words.
"""

import re
from datetime import date
from decimal import Decimal
from typing import Any

from workshop.core.errors import ActionRefused
from workshop.core.paper import barcodes
from workshop.core.paper.pdf import pdf
from workshop.goods_in.lot_composition import compositions_or_why
from workshop.kettle.models import Batch
from workshop.labels.content.label import Label
from workshop.labels.layout.barcode_data import carton_elements
from workshop.labels.layout.label_stock import Layout
from workshop.labels.layout.text_blocks import bound
from workshop.labels.models import Print
from workshop.labels.printing.serial_numbers import (
    FIGURE_WIDTH,
    code_marks,
    figures,
    laid_out,
    number_marks,
    place_of,
)
from workshop.labels.printing.sheet_imposition import CodeMarks, Marks, put_numbered_on_paper
from workshop.ledger.models import Lot
from workshop.materials.ingredients import limits_of
from workshop.rules.codes.gs1 import element_string, parse_element_string
from workshop.rules.codes.sscc import following
from workshop.rules.errors import RuleError
from workshop.rules.ingredients.organic_share import organic_classification

CARTON = Layout("carton", "Carton, 100 × 70 mm", Decimal(100), Decimal(70), Decimal(4))
SHIPPING = Layout("carton-sscc", "Carton, 100 × 150 mm", Decimal(100), Decimal(150), Decimal(4))
# Sizes of type that are tried, the largest first.
TYPE_MM = tuple(map(Decimal, ("5.2", "4.7", "4.2", "3.8", "3.4", "3.0", "2.6", "2.2")))
NUMBER_MM = Decimal("6")
BAR_MM = Decimal("0.5")
BESIDE_MM = Decimal(4)
LOT_BARS_MM, SSCC_BARS_MM = Decimal(14), Decimal(32)
ELEMENT = re.compile(r"\([0-9]+\)[^(]*")
SQUARE_MM = Decimal("0.9")


def lot_of_sscc(text: str) -> Lot | None:
    """The lot in the carton whose number was scanned, if it was numbered here."""
    try:
        number = parse_element_string(text).get("00", "")
    except RuleError:
        return None
    printed = Print.objects.exclude(first_sscc="").filter(first_sscc__lte=number)
    last = printed.select_related("lot__item").order_by("-first_sscc").first() if number else None
    is_of_it = last is not None and number in following(last.first_sscc, last.count)
    return last.lot if last and is_of_it else None


def carton_pdf(label: Label, *, per_carton: int, cartons: int, first_sscc: str = "") -> bytes:
    """The labels of cartons 1 to `cartons`; with a first SSCC each with its own and its code."""
    words = {"label": bound(label), "per_carton": per_carton, "cartons": cartons}
    if not first_sscc:
        return _plain_pdf(label, words)
    return _shipping_pdf(label, words, following(first_sscc, cartons))


def _plain_pdf(label: Label, words: dict[str, Any]) -> bytes:
    code = barcodes.code128(label.lot.code, bar_mm=BAR_MM, height_mm=LOT_BARS_MM)
    context = words | {"code": barcodes.as_source(code)}
    document = _fitting("labels/paper_carton.html", context, CARTON)
    return _numbered(document, CARTON, words["cartons"], [], [])


def _shipping_pdf(label: Label, words: dict[str, Any], numbers: list[str]) -> bytes:
    texts = [
        element_string(carton_elements(label, words["per_carton"], number))[0] for number in numbers
    ]
    squares = [barcodes.gs1_datamatrix_rows(text) for text in texts]
    bars = [barcodes.gs1_128_bars(f"00{number}") for number in numbers]
    side = len(squares[0]) * SQUARE_MM
    own = (
        f".beside {{ min-height: {side}mm; padding-left: {side + BESIDE_MM}mm }}"
        f"#here-bars {{ height: {SSCC_BARS_MM}mm; margin-left: {barcodes.QUIET_BARS * BAR_MM}mm }}"
        f"#here-sscc {{ width: {len(numbers[0]) * NUMBER_MM * FIGURE_WIDTH}mm }}"
    )
    # What is inside is the same in all of them; the number stands below its bars.
    inside = ELEMENT.findall(texts[0].removeprefix(f"(00){numbers[0]}"))
    context = words | {"elements": inside}
    document = _fitting("labels/paper_shipping.html", context, SHIPPING, own)
    codes = [
        code_marks(document, "here-code", squares, SQUARE_MM),
        CodeMarks(place_of(document, "here-bars"), BAR_MM, SSCC_BARS_MM, [[row] for row in bars]),
    ]
    return _numbered(document, SHIPPING, len(numbers), numbers, codes)


def _numbered(
    document: Any, layout: Layout, cartons: int, numbers: list[str], codes: list[CodeMarks]
) -> bytes:
    counted = [f"{number:0{len(str(cartons))}}" for number in range(1, cartons + 1)]
    marks = [number_marks(document, "here-number", counted, NUMBER_MM)]
    if numbers:
        marks.append(number_marks(document, "here-sscc", numbers, NUMBER_MM))
    filled = Marks(marks, codes, figures(NUMBER_MM), NUMBER_MM * FIGURE_WIDTH)
    return put_numbered_on_paper(document.write_pdf(), layout, filled)


def _fitting(template: str, context: dict[str, Any], layout: Layout, own: str = "") -> Any:
    """The page at the largest type that leaves all of it on one label."""
    width = len(str(context["cartons"])) * NUMBER_MM * FIGURE_WIDTH
    fixed = (
        f"@page {{ size: {layout.width_mm}mm {layout.height_mm}mm; margin: {layout.margin_mm}mm }}"
        f".figures {{ font-size: {NUMBER_MM}mm }} #here-number {{ width: {width}mm }}{own}"
    )
    for type_mm in TYPE_MM:
        style = f"{fixed} body {{ font-size: {type_mm}mm }}"
        document = laid_out(template, context, style, "carton")
        if len(document.pages) == 1:
            return document
    raise ActionRefused(
        f"The carton label of {layout.size} has no room for all its words. Shorten the name on "
        "the label or the maker's address."
    )


def _organic_words(batch: Batch, lot: Lot | None) -> str:
    """What a tag says of being organic: of what was poured by its content, before by the formula.

    Source: 7 CFR 205.307, to be met since 19 March 2024: a container that is not for retail names
    what is in it as organic, with the lot; wording of the text from memory.
    """
    if not batch.version.claims_organic:
        return ""
    if lot is None:
        return "organic, in process"
    shares = compositions_or_why([lot])[lot.pk]
    if isinstance(shares, ActionRefused):
        return ""
    category = organic_classification(shares, limits_of()).category
    return category if category not in ("none", "below 70") else ""


def kettle_tag(batch: Batch, *, on: date) -> bytes:
    """Tags of 100 × 60 mm, one a page: of each lot poured, and before of what is in the kettle."""
    lots = batch.operation.lots.select_related("item").order_by("pk")
    context = {
        "batch": batch,
        "tags": [_kettle_tag(batch, lot) for lot in lots] or [_kettle_tag(batch, None)],
        "printed_on": on,
    }
    return pdf("labels/paper_kettle.html", context, sheet="css/lot-tag.css")


def _kettle_tag(batch: Batch, lot: Lot | None) -> dict[str, Any]:
    text = lot.code if lot else batch.operation.reference
    code = barcodes.code128(text, bar_mm=BAR_MM, height_mm=Decimal(12))
    return {"lot": lot, "code": barcodes.as_source(code), "organic": _organic_words(batch, lot)}
