"""Artwork that a workshop hands in: whether it will print well, and as a picture for a label."""

import io

import pypdfium2
from PIL import Image

from workshop.core.errors import ActionRefused
from workshop.core.files.uploads import CheckedFile

# Common practice, no source: on the longest label of 200 mm this is 150 dots an inch.
LEAST_DOTS = 600
LARGEST_BYTES = 3_000_000
PDF_DOTS_AN_INCH = 300
MOST_DOTS = 4000


def refuse_unfit(file: CheckedFile) -> None:
    """Raises ActionRefused, with the reason, for artwork that would print badly or not at all."""
    wide, high = _dots(file)
    if min(wide, high) < LEAST_DOTS / 4 or max(wide, high) < LEAST_DOTS:
        raise ActionRefused(
            f"The artwork has {wide} × {high} dots; its longer side needs at least {LEAST_DOTS} "
            f"to print sharply, its shorter {LEAST_DOTS // 4}.",
            field="artwork",
        )
    if len(file.content) > LARGEST_BYTES:
        raise ActionRefused("Artwork on labels is at most 3 MB large.", field="artwork")


def _dots(file: CheckedFile) -> tuple[int, int]:
    if file.content_type == "application/pdf":
        document = pypdfium2.PdfDocument(file.content)
        wide, high = document[0].get_size()
        pages = len(document)
        document.close()
        if pages != 1:
            raise ActionRefused("Artwork as a PDF has one page.", field="artwork")
        return round(wide / 72 * PDF_DOTS_AN_INCH), round(high / 72 * PDF_DOTS_AN_INCH)
    with Image.open(io.BytesIO(file.content)) as picture:
        return picture.width, picture.height


def as_picture(content: bytes, content_type: str) -> tuple[bytes, str]:
    """The artwork as a picture; a PDF is drawn at the sharpness of a press."""
    if content_type != "application/pdf":
        return content, content_type
    document = pypdfium2.PdfDocument(content)
    scale = PDF_DOTS_AN_INCH / 72
    scale = min(scale, MOST_DOTS / max(document[0].get_size()))
    picture = document[0].render(scale=scale).to_pil()
    document.close()
    written = io.BytesIO()
    picture.save(written, format="PNG")
    return written.getvalue(), "image/png"
