"""Reading our PDFs back: codes from pictures of them, type sizes from their drawing."""

import io
from decimal import Decimal

import pypdfium2
import zxingcpp
from PIL import Image
from pypdf import PdfReader

MM_PER_PT = 25.4 / 72


def pictures(pdf: bytes, dpi: int, *, smooth: bool = True) -> list[Image.Image]:
    """Every page as a picture, as a printer of this resolution would make it."""
    document = pypdfium2.PdfDocument(pdf)
    options = {"no_smoothtext": not smooth, "no_smoothpath": not smooth}
    pages = [page.render(scale=dpi / 72, grayscale=True, **options).to_pil() for page in document]
    document.close()
    return pages


def cell(page: Image.Image, dpi: int, box_mm: tuple[Decimal, ...]) -> Image.Image:
    """The part of a page from x, y over width and height."""
    x, y, width, height = (float(mm) / 25.4 * dpi for mm in box_mm)
    return page.crop((round(x), round(y), round(x + width), round(y + height)))


def codes(picture: Image.Image) -> set[tuple[str, str]]:
    """What a scanner reads: format and text of each code."""
    return {(str(code.format), code.text) for code in zxingcpp.read_barcodes(picture)}


def text(pdf: bytes) -> str:
    """The words of all pages with single spaces."""
    pages = PdfReader(io.BytesIO(pdf)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def letter_heights_mm(pdf: bytes, letter: str = "o") -> list[float]:
    """How high each `letter` is drawn, from its outline in the PDF, in reading order."""
    document = pypdfium2.PdfDocument(pdf)
    words = document[0].get_textpage()
    found = [
        words.get_charbox(place)
        for place, character in enumerate(words.get_text_range())
        if character == letter
    ]
    document.close()
    return [(top - bottom) * MM_PER_PT for _, bottom, _, top in found]


def page_sizes_mm(pdf: bytes) -> list[tuple[float, float]]:
    document = pypdfium2.PdfDocument(pdf)
    sizes = [tuple(round(side * MM_PER_PT, 1) for side in page.get_size()) for page in document]
    document.close()
    return sizes
