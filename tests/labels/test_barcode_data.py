"""Codes of labels: what they carry, and read back from the printed PDF at printers' resolutions."""

from decimal import Decimal
from typing import Any

import pytest
import zxingcpp
from PIL import Image

from tests import make
from tests.labels import build, paper
from workshop.core.errors import ActionRefused
from workshop.core.paper import barcodes
from workshop.labels.content.label import Label, label_for
from workshop.labels.layout import barcode_data, label_stock
from workshop.labels.layout.fit_to_label import draw
from workshop.labels.layout.label_stock import Layout
from workshop.labels.models import OwnSize
from workshop.labels.printing.serial_numbers import numbered_pdf
from workshop.labels.printing.sheet_imposition import put_on_paper
from workshop.labels.services import designs
from workshop.ledger.models import Lot
from workshop.rules.codes.gs1 import parse_element_string

pytestmark = pytest.mark.django_db

EAN = "9521234543213"  # GS1's demonstration prefix 952
BEST_BEFORE = f"{make.day(months=12):%y%m%d}"


def label(**design: Any) -> Label:
    build.workshop()
    lot = build.balm(is_small_package=True, gtin=EAN)
    designs.save_design(lot.item.product, design, by=make.user(), at=make.NOON)
    return label_for(Lot.objects.get(pk=lot.pk))


def read(picture: Image.Image) -> dict[str, str]:
    """Format and text of every code in a picture."""
    return {str(code.format): code.text for code in zxingcpp.read_barcodes(picture)}


@pytest.mark.parametrize("smooth", [True, False])
@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize(("kind", "form"), [("datamatrix", "Data Matrix"), ("qr", "QR Code")])
def test_gs1_code_carries_gtin_date_and_lot(
    kind: str, form: str, dpi: int, *, smooth: bool
) -> None:
    written = label(code=kind)

    [page] = paper.pictures(draw(written, label_stock.BY_KEY["100x70"]).pdf, dpi, smooth=smooth)
    found = {str(code.format): code for code in zxingcpp.read_barcodes(page)}

    # Source: GS1 General Specifications: (01), (15) and (10).
    assert parse_element_string(found[form].text) == {
        "01": "0" + EAN,
        "15": BEST_BEFORE,
        "10": written.lot.code,
    }
    assert found[form].content_type == zxingcpp.ContentType.GS1
    assert found["EAN-13"].text == EAN


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize(
    ("base", "begins"),
    [
        ("", "https://id.gs1.org/01/0"),
        ("https://wren.example.com", "https://wren.example.com/01/0"),
    ],
)
def test_web_code_is_a_digital_link(base: str, begins: str, dpi: int) -> None:
    written = label(code="link", link_base=base)

    [page] = paper.pictures(draw(written, label_stock.BY_KEY["100x70"]).pdf, dpi)

    # Source: GS1 Digital Link: key 01, then 10 in the path, 15 in the query.
    assert read(page)["QR Code"] == f"{begins}{EAN}/10/{written.lot.code}?15={BEST_BEFORE}"


@pytest.mark.parametrize(("dpi", "bar_dots", "module_dots"), [(203, 3, 3), (300, 4, 5)])
def test_bars_are_whole_dots_of_the_printer(dpi: int, bar_dots: int, module_dots: int) -> None:
    layout = Layout("x", "x", Decimal(100), Decimal(70), dpi=dpi)
    written = label(code="datamatrix")

    [page] = paper.pictures(draw(written, layout).pdf, dpi, smooth=False)

    assert round(layout.bar_mm / Decimal("25.4") * dpi, 6) == bar_dots
    assert round(layout.module_mm / Decimal("25.4") * dpi, 6) == module_dots
    assert set(read(page)) == {"Data Matrix", "EAN-13"}


def test_code_in_every_cell_of_an_own_sheet_with_gaps_reads_back() -> None:
    written = label(code="datamatrix")
    size = designs.save_size(
        {
            "name": "Own", "width_mm": Decimal(95), "height_mm": Decimal(68), "columns": 2,
            "rows": 4, "page_width_mm": Decimal(210), "page_height_mm": Decimal(297),
            "left_mm": Decimal(8), "top_mm": Decimal(8), "gap_right_mm": Decimal(4),
            "gap_down_mm": Decimal(2),
        },
        by=make.user(),
        at=make.NOON,
    )  # fmt: skip
    layout = label_stock.own_layout(OwnSize.objects.get(pk=size.pk))
    pdf = put_on_paper(
        draw(written, layout).pdf, layout, 5, first_cell=2, spoiled_cells=frozenset({3, 5})
    )

    [page] = paper.pictures(pdf, 203)
    used = []
    for cell in range(8):
        row, column = divmod(cell, 2)
        box = (Decimal(8 + column * 99), Decimal(8 + row * 70), Decimal(95), Decimal(68))
        if "Data Matrix" in read(paper.cell(page, 203, box)):
            used.append(cell + 1)
    assert used == [2, 4, 6, 7, 8]


def test_without_a_gtin_the_lot_stands_in_code_128() -> None:
    build.workshop()
    lot = build.balm(is_small_package=True)
    designs.save_design(lot.item.product, {"code": "datamatrix"}, by=make.user(), at=make.NOON)

    [page] = paper.pictures(
        draw(label_for(Lot.objects.get(pk=lot.pk)), label_stock.BY_KEY["100x70"]).pdf, 203
    )

    assert read(page) == {"Code 128": lot.code}


def test_gs1_writer_refuses_to_write_a_plain_code(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(ValueError, match="did not write a GS1 code"):
        barcodes._refuse_plain(zxingcpp.create_barcode("(01)", zxingcpp.BarcodeFormat.DataMatrix))


def test_element_string_is_the_one_people_read() -> None:
    written = label()

    assert (
        barcode_data.element_text(written) == f"(01)0{EAN}(15){BEST_BEFORE}(10){written.lot.code}"
    )


@pytest.mark.parametrize("dpi", [203, 300])
def test_numbered_labels_each_carry_their_own_code_and_number(dpi: int) -> None:
    written = label()
    layout = label_stock.BY_KEY["a4-8"]

    pdf = numbered_pdf(written, layout, range(9, 19), first_cell=8)

    pages = paper.pictures(pdf, dpi)
    found = [
        parse_element_string(code.text)["21"]
        for page in pages
        for code in zxingcpp.read_barcodes(page)
        if str(code.format) == "Data Matrix"
    ]
    assert len(pages) == 3
    assert sorted(found) == [f"{number:05}" for number in range(9, 19)]


def test_numbered_labels_need_a_gtin() -> None:
    build.workshop()
    written = label_for(build.balm(is_small_package=True))

    with pytest.raises(ActionRefused, match="Numbered labels need the GTIN"):
        numbered_pdf(written, label_stock.BY_KEY["a4-8"], range(1, 3))
