"""A picture of a laid-out label, for the page that shows it beside its form."""

import io
from base64 import b64encode

import pypdfium2
from PIL import Image

SHARPNESS = 2.4  # picture dots for each PDF point; about 170 dots an inch
FLAT = 4096  # colours of drawn art and smoothed letters; a photograph has many more
FEW, MANY = 32, 256


def png(pdf: bytes) -> bytes:
    """The first page as PNG, in so few colours that it is light on the wire."""
    document = pypdfium2.PdfDocument(pdf)
    picture = document[0].render(scale=SHARPNESS).to_pil().convert("RGB")
    document.close()
    colours = FEW if picture.getcolors(FLAT) else MANY
    few = picture.quantize(colours, method=Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE)
    written = io.BytesIO()
    few.save(written, format="PNG", optimize=True)
    return written.getvalue()


def as_source(pdf: bytes) -> str:
    """The picture as an address that stands in the page itself."""
    return "data:image/png;base64," + b64encode(png(pdf)).decode()
