"""Reading our PDFs back: codes from pictures of them, type sizes from their drawing."""

import io
from decimal import Decimal

import pypdfium2
import zxingcpp
from PIL import Image
from pypdf import PdfReader

MM_PER_PT = 25.4 / 72
KERNED_MM = 0.6
Box = tuple[float, ...]


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


def words_mm(pdf: bytes, page: int = 0) -> list[tuple[str, Box]]:
    """Each letter of a page with its box: left, top, right and bottom from the upper left."""
    document = pypdfium2.PdfDocument(pdf)
    paper = document[page]
    height = paper.get_size()[1]
    words = paper.get_textpage()
    found = []
    for place, letter in enumerate(words.get_text_range()):
        left, bottom, right, top = words.get_charbox(place)
        edges = (left, height - top, right, height - bottom)
        if letter.strip():
            found.append((letter, tuple(edge * MM_PER_PT for edge in edges)))
    document.close()
    return found


def codes_mm(picture: Image.Image, dpi: int) -> list[tuple[str, Box]]:
    """The text of each code that is read, with its box in millimetres."""
    found = []
    for code in zxingcpp.read_barcodes(picture):
        at = code.position
        corners = [at.top_left, at.top_right, at.bottom_left, at.bottom_right]
        across, down = [corner.x for corner in corners], [corner.y for corner in corners]
        edges = (min(across), min(down), max(across), max(down))
        found.append((code.text, tuple(edge / dpi * 25.4 for edge in edges)))
    return found


def overlap(one: Box, other: Box) -> bool:
    """Whether two boxes share more than letters of one word do."""
    wide = min(one[2], other[2]) - max(one[0], other[0])
    high = min(one[3], other[3]) - max(one[1], other[1])
    return wide > KERNED_MM and high > KERNED_MM


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
