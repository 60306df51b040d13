"""Looks into artwork that a stranger may have made; run by itself, with little memory and time.

What comes out is a picture, or a drawing of plain shapes, that was drawn once here: what is too
heavy to draw ends this process and not the one that serves the book. A PDF becomes a picture as
sharp as a press prints, since a PDF can hold more than a drawing.
"""

import io
import sys
from pathlib import Path

import pypdfium2
from PIL import Image
from weasyprint import HTML
from weasyprint.urls import URLFetcher

sys.path.insert(0, str(Path(__file__).resolve().parents[3]))

from workshop.core.files import file_check
from workshop.core.files.file_check import Unfit
from workshop.labels.art.svg_cleaning import cleaned_svg, is_svg

PDF_DOTS_AN_INCH = 600
MOST_DOTS = 4000
SEEN_DOTS = 800
LEAST_PT = 7
OPAQUE = 255


def cleaned(content: bytes) -> tuple[str, bytes]:
    """The kind of the artwork, and its contents as they may be kept."""
    if is_svg(content):
        clean = cleaned_svg(content)
        _drawn(clean)
        return "SVG", clean
    if content.startswith(b"%PDF-"):
        file_check.cleaned(content)
        return "PNG", _picture_of(content)
    return file_check.cleaned(content)


def _drawn(svg: bytes) -> None:
    """Draw it once, as labels will; nothing outside can be asked for."""
    nothing = URLFetcher(allowed_protocols=["data"])
    rules = "@page{size:100mm;margin:0}svg{width:100mm;height:100mm;display:block}"
    try:
        html = f"<style>{rules}</style>{svg.decode()}"
        page = HTML(string=html, url_fetcher=nothing).write_pdf()
        document = pypdfium2.PdfDocument(page)
        document[0].render(scale=SEEN_DOTS / max(document[0].get_size()))
    except (
        ValueError,
        TypeError,
        KeyError,
        AttributeError,
        RecursionError,
        OverflowError,
    ) as error:
        raise Unfit("The SVG cannot be drawn. Hand it in as a PDF or PNG.") from error


def _picture_of(pdf: bytes) -> bytes:
    """The one page of a PDF, on nothing, so that what lies below shows through."""
    try:
        document = pypdfium2.PdfDocument(pdf)
        sides = document[0].get_size()
    except pypdfium2.PdfiumError as error:
        raise Unfit("The PDF cannot be drawn; it may be damaged.") from error
    if len(document) != 1:
        raise Unfit("Artwork as a PDF has one page.")
    if min(sides) < LEAST_PT:
        raise Unfit("The page of the PDF is too small for artwork.")
    scale = min(PDF_DOTS_AN_INCH / 72, MOST_DOTS / max(sides))
    picture = document[0].render(scale=scale, fill_color=(0, 0, 0, 0)).to_pil()
    written = io.BytesIO()
    _without_empty_alpha(picture).save(written, format="PNG")
    return written.getvalue()


def _without_empty_alpha(picture: Image.Image) -> Image.Image:
    """Opaque pictures need no word of how opaque they are."""
    if picture.mode != "RGBA":
        return picture
    is_opaque = picture.getchannel("A").getextrema() == (OPAQUE, OPAQUE)
    return picture.convert("RGB") if is_opaque else picture


if __name__ == "__main__":
    sys.exit(file_check.main(cleaned))
