"""Layout by the rules of CSS, which reaches neither the network nor other files."""

import re
from base64 import b64encode
from functools import cache
from pathlib import Path

from django.contrib.staticfiles import finders
from weasyprint import CSS, HTML
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import URLFetcher

from workshop.core.paper.typefaces import FACES

NOTHING_OUTSIDE = URLFetcher(allowed_protocols=["data"])
TEXT = re.compile(r"(?<=>)[^<]+")
LONG_WORD = re.compile(r"[^\s&;]{20}(?=[^\s&;]{4})")


@cache
def fonts() -> FontConfiguration:
    """Our typefaces and the fonts of the machine, asked for once: that takes a while."""
    known = FontConfiguration()
    CSS(string=font_faces(), url_fetcher=NOTHING_OUTSIDE, font_config=known)
    return known


@cache
def style_sheet(name: str) -> CSS:
    """A style sheet from static/, read once."""
    text = Path(str(finders.find(name))).read_text(encoding="utf-8")
    return CSS(string=text, url_fetcher=NOTHING_OUTSIDE)


def font_faces() -> str:
    """Each face with its letters in it: a machine need not have them, and nothing is fetched."""
    faces = (
        f'@font-face {{ font-family: "{face.family}"; font-weight: {face.weight}; '
        f'src: url("data:font/ttf;base64,{b64encode(face.path.read_bytes()).decode()}") }}'
        for face in FACES
    )
    return "\n".join(faces)


def laid_out(html: str, sheet: str) -> bytes:
    """The HTML with the style sheet `sheet` from static/ as a PDF."""
    page = HTML(string=breakable(html), url_fetcher=NOTHING_OUTSIDE)
    written: bytes = page.write_pdf(
        stylesheets=[style_sheet(sheet)],
        font_config=fonts(),
        pdf_tags=True,
    )
    return written


def breakable(html: str) -> str:
    """Let a very long word go on in the next line: it would push what is beside it off the page.

    A rule of style cannot do it, for it would break the short words of a full table as well.
    """
    head, body, rest = html.partition("<body")
    return head + body + TEXT.sub(lambda text: LONG_WORD.sub(r"\g<0><wbr>", text[0]), rest)
