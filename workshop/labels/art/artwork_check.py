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
MOST_DOTS = (4000, 2800, 2000, 1400)
LARGEST_BYTES = 3_000_000
JPEG_QUALITY = 92
# What is still so much too large, written quickly, is none that a slow writing makes small enough.
WORTH_A_TRY = 2
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
        return _picture_of(content)
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


def _picture_of(pdf: bytes) -> tuple[str, bytes]:
    """The one page of a PDF as a picture that is not too large a file, as sharp as that allows."""
    try:
        document = pypdfium2.PdfDocument(pdf)
        sides = document[0].get_size()
    except pypdfium2.PdfiumError as error:
        raise Unfit("The PDF cannot be drawn; it may be damaged.") from error
    if len(document) != 1:
        raise Unfit("Artwork as a PDF has one page.")
    if min(sides) < LEAST_PT:
        raise Unfit("The page of the PDF is too small for artwork.")
    for scale in dict.fromkeys(
        min(PDF_DOTS_AN_INCH / 72, most_dots / max(sides)) for most_dots in MOST_DOTS
    ):
        # On nothing, so that what lies below shows through.
        picture = document[0].render(scale=scale, fill_color=(0, 0, 0, 0)).to_pil()
        kind, written = _written(picture)
        if len(written) <= LARGEST_BYTES:
            return kind, written
    raise Unfit("The PDF is too rich in detail. Hand in a PNG or JPEG of at most 3 MB.")


def _written(picture: Image.Image) -> tuple[str, bytes]:
    """A picture without a hole in it as JPEG, where it would be a large PNG: it is a photograph."""
    is_whole = picture.mode != "RGBA" or picture.getchannel("A").getextrema() == (OPAQUE, OPAQUE)
    plain = picture.convert("RGB") if is_whole else picture
    written = b""
    if not is_whole or len(_saved(plain, "PNG", compress_level=1)) <= WORTH_A_TRY * LARGEST_BYTES:
        written = _saved(plain, "PNG")
    if is_whole and not 0 < len(written) <= LARGEST_BYTES:
        return "JPEG", _saved(plain, "JPEG", quality=JPEG_QUALITY)
    return "PNG", written


def _saved(picture: Image.Image, kind: str, **options: int) -> bytes:
    written = io.BytesIO()
    picture.save(written, kind, **options)
    return written.getvalue()


if __name__ == "__main__":
    sys.exit(file_check.main(cleaned))
