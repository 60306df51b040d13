"""Linear codes: drawn by one library and read back by another, at printers' resolutions."""

import random
import re
from decimal import Decimal

import pytest
import zxingcpp
from weasyprint import HTML

from tests.labels import paper
from workshop.core.paper import barcodes
from workshop.rules.codes.gs1 import gtin_check_digit
from workshop.rules.codes.lot_codes import make_lot_code

RANDOM = random.Random(20_261)
LOTS = [make_lot_code(RANDOM.randrange) for _ in range(60)]
TAGS = ["K-0042", "P-1207", "12345", "2222227", "A", "ab-C 9/x", "9999999", "99AB2CD", "4499999"]
DOTS_203, DOTS_300 = Decimal("25.4") / 203, Decimal("25.4") / 300


def read(svgs: list[str], dpi: int, *, smooth: bool = True) -> list[tuple[str, str]]:
    """Format and text of each code, one a page of paper."""
    pictures = "".join(f'<p><img src="{barcodes.as_source(svg)}"></p>' for svg in svgs)
    style = "@page{size:100mm 40mm;margin:4mm}p{margin:0;break-after:page}img{display:block}"
    pdf = HTML(string=f"<style>{style}</style>{pictures}").write_pdf()
    pages = paper.pictures(pdf, dpi, smooth=smooth)
    found = [zxingcpp.read_barcodes(page) for page in pages]
    return [(str(codes[0].format), codes[0].text) for codes in found if codes]


@pytest.mark.parametrize("smooth", [True, False])
@pytest.mark.parametrize(("dpi", "bar_mm"), [(203, 3 * DOTS_203), (300, 4 * DOTS_300)])
def test_code_128_of_any_lot_or_tag_reads_back(dpi: int, bar_mm: Decimal, *, smooth: bool) -> None:
    texts = LOTS + TAGS

    drawn = [barcodes.code128(text, bar_mm=bar_mm) for text in texts]

    assert read(drawn, dpi, smooth=smooth) == [("Code 128", text) for text in texts]


@pytest.mark.parametrize("dpi", [203, 300])
# A UPC-A is the EAN-13 of its number with a nought in front (GS1 General Specifications).
@pytest.mark.parametrize(("digits", "form"), [(8, "EAN-8"), (12, "EAN-13"), (13, "EAN-13")])
def test_gtin_reads_back_at_the_till(digits: int, form: str, dpi: int) -> None:
    bodies = [f"{RANDOM.randrange(1, 10 ** (digits - 1)):0{digits - 1}}" for _ in range(12)]
    gtins = [body + gtin_check_digit(body) for body in bodies if body[0] != "0"]

    found = read([barcodes.ean(gtin) for gtin in gtins], dpi)

    assert found == [(form, gtin.zfill(13 if digits > 8 else 8)) for gtin in gtins]


@pytest.mark.parametrize(
    ("svg", "bars"),
    [
        # Bars of a code without its quiet zones: GS1 General Specifications, from memory.
        (barcodes.ean("9521234543213"), 95 + 11 + 7),
        (barcodes.ean("012345678905"), 95 + 9 + 9),
        (barcodes.ean("02345673"), 67 + 7 + 7),
        # Start, seven letters and their check of 11 bars each, stop of 13, twice ten of quiet.
        (barcodes.code128("ABCDEFC"), 9 * 11 + 13 + 2 * 10),
    ],
)
def test_code_is_as_wide_as_its_bars_and_quiet_zones(svg: str, bars: int) -> None:
    width = re.search(r'width="([\d.]+)mm"', svg)

    assert width is not None
    assert Decimal(width[1]) == bars * barcodes.BAR_MM
