"""A picture of a laid-out label, for the page that shows it beside its form."""

import io
from base64 import b64encode

import pypdfium2

SHARPNESS = 2.4  # picture dots for each PDF point; about 170 dots an inch


def png(pdf: bytes) -> bytes:
    """The first page as PNG."""
    document = pypdfium2.PdfDocument(pdf)
    picture = document[0].render(scale=SHARPNESS).to_pil()
    document.close()
    written = io.BytesIO()
    picture.save(written, format="PNG")
    return written.getvalue()


def as_source(pdf: bytes) -> str:
    """The picture as an address that stands in the page itself."""
    return "data:image/png;base64," + b64encode(png(pdf)).decode()
