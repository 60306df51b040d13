"""Paper: a template turned into a PDF that reaches neither the network nor other files."""

from functools import cache
from pathlib import Path
from typing import Any

from django.contrib.staticfiles import finders
from django.http import HttpResponse
from django.template.loader import render_to_string
from weasyprint import CSS, HTML
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import URLFetcher

NOTHING_OUTSIDE = URLFetcher(allowed_protocols=["data"])


@cache
def fonts() -> FontConfiguration:
    """The fonts of the machine, asked for once: it takes longer than laying out a short page."""
    return FontConfiguration()


def pdf(template: str, context: dict[str, Any], *, sheet: str = "css/paper.css") -> bytes:
    """Render `template` with the style sheet `sheet` from static/ to a PDF."""
    page = HTML(string=render_to_string(template, context), url_fetcher=NOTHING_OUTSIDE)
    style = Path(str(finders.find(sheet))).read_text(encoding="utf-8")
    written: bytes = page.write_pdf(
        stylesheets=[CSS(string=style, url_fetcher=NOTHING_OUTSIDE)],
        font_config=fonts(),
        pdf_tags=True,
    )
    return written


def pdf_response(name: str, content: bytes) -> HttpResponse:
    """Show the PDF in the browser; it saves under `name`."""
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    return response
