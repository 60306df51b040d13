"""Lot tags: what stands on them, and that a scanner reads them back from the paper."""

from io import BytesIO

import pypdfium2
import pytest
import zxingcpp
from django.test import Client
from pypdf import PdfReader

from tests import make
from tests.goods_in import build
from workshop.core.markets import (
    Market,
)
from workshop.core.models import (
    Workshop,
)
from workshop.goods_in import lot_tags
from workshop.goods_in.models import Receipt, ReceiptLine
from workshop.ledger.models import Lot

pytestmark = pytest.mark.django_db
# Resolution of the usual label printers, dots per inch.
PRINTERS_DPI = [203, 300]


def a_receipt(count: int = 3) -> Receipt:
    of = build.supplier("Ostrey Oils Cooperative")
    items = [build.material(f"Oil {number}") for number in range(count)]
    paper = build.certificate(of, items)
    lots = [
        build.arrived(
            item,
            supplier_lot=f"OS-{number}",
            makers_expiry=make.day(343),
            certificate=paper,
            is_organic=number == 0,
        )
        for number, item in enumerate(items)
    ]
    return build.receipt(*lots, of=of)


def lines(receipt: Receipt) -> list[ReceiptLine]:
    return list(receipt.lines.with_lots())


def codes_on(content: bytes, dpi: int) -> list[list[str]]:
    """The codes a scanner reads from each page, printed without grey at that resolution."""
    with pypdfium2.PdfDocument(content) as document:
        return [
            [
                read.text
                for read in zxingcpp.read_barcodes(
                    page.render(scale=dpi / 72, grayscale=True)
                    .to_pil()
                    .point(lambda grey: 255 if grey > 127 else 0)
                )
                if read.format == zxingcpp.BarcodeFormat.Code128
            ]
            for page in document
        ]


def words_on(content: bytes) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in PdfReader(BytesIO(content)).pages]


@pytest.mark.parametrize("dpi", PRINTERS_DPI)
def test_label_tags_read_back_one_a_page(dpi: int) -> None:
    receipt = a_receipt()

    content = lot_tags.label_pdf(lines(receipt), on=build.DAY)

    assert codes_on(content, dpi) == [[line.lot.code] for line in lines(receipt)]


@pytest.mark.parametrize("dpi", PRINTERS_DPI)
def test_sheet_tags_read_back(dpi: int) -> None:
    receipt = a_receipt(9)

    pages = codes_on(lot_tags.sheet_pdf(lines(receipt), on=build.DAY), dpi)

    assert [len(page) for page in pages] == [8, 1]
    assert sorted(code for page in pages for code in page) == sorted(
        Lot.objects.values_list("code", flat=True)
    )


def test_tag_says_what_the_lot_is() -> None:
    line = lines(a_receipt(1))[0]

    [words] = words_on(lot_tags.label_pdf([line], on=build.DAY))

    expected = (
        f"{line.lot} Oil 0 Supplier lot OS-0 Expiry (or retest) {make.shown(343)}"
        f" Received {make.shown()}, Ostrey Oils Cooperative"
        f" quarantine when printed, {make.shown()} organic"
    )
    assert sorted(words.split()) == sorted(expected.split())


def test_tag_of_a_lot_not_recorded_as_organic_does_not_say_organic() -> None:
    _, second = lines(a_receipt(2))

    [words] = words_on(lot_tags.label_pdf([second], on=build.DAY))

    assert "organic" not in words


def test_tag_fits_the_label() -> None:
    content = lot_tags.label_pdf(lines(a_receipt(1)), on=build.DAY)

    [page] = PdfReader(BytesIO(content)).pages
    width_mm, height_mm = (float(side) * 25.4 / 72 for side in page.mediabox[2:])
    assert (round(width_mm, 1), round(height_mm, 1)) == (100, 60)


def test_tag_with_the_longest_words_keeps_them_all_on_one_label() -> None:
    item = build.material("Sweet almond oil, cold pressed, first harvest, from the upper terraces")
    line = build.line(item, supplier_lot="LOT-" * 15)

    [words] = words_on(lot_tags.label_pdf([line], on=build.DAY))

    assert "quarantine when printed" in words
    assert "LOT-" * 15 in words.replace(" ", "")


@pytest.mark.parametrize(
    ("market", "size_mm"), [(Market.US, (215.9, 279.4)), (Market.EU, (210, 297))]
)
def test_sheet_has_the_paper_of_the_market(market: Market, size_mm: tuple[float, float]) -> None:
    Workshop.objects.create(pk=1, name="Wren Hollow Works", address="Port Ellery", market=market)

    content = lot_tags.sheet_pdf(lines(a_receipt(1)), on=build.DAY)

    [page] = PdfReader(BytesIO(content)).pages
    assert tuple(round(float(side) * 25.4 / 72, 1) for side in page.mediabox[2:]) == size_mm


def test_tag_pages_answer_with_pdfs(client: Client) -> None:
    client.force_login(make.user())
    receipt = a_receipt(2)
    lot = receipt.lines.all()[0].lot

    for address in (
        f"/goods-in/lots/{lot.code}/tag.pdf",
        f"/goods-in/receipts/{receipt}/tag-labels.pdf",
        f"/goods-in/receipts/{receipt}/tag-sheet.pdf",
    ):
        answer = client.get(address)
        assert answer["Content-Type"] == "application/pdf"
        assert answer.content.startswith(b"%PDF-")
