"""Paper: a template turned into a PDF."""

from typing import Any

from django.http import HttpResponse
from django.template.loader import render_to_string

from workshop.core.paper.css_layout import laid_out
from workshop.core.paper.typeset import CannotSet
from workshop.core.paper.typeset.records import set_pdf

PAPER = "css/paper.css"


def pdf(template: str, context: dict[str, Any], *, sheet: str = PAPER) -> bytes:
    """Render `template` to a PDF that looks as the style sheet `sheet` from static/ says.

    What css/paper.css says of headings, lists, facts and tables is set without it, which is cheap;
    letters that join, or anything else, take the long way.
    """
    html = render_to_string(template, context)
    if sheet == PAPER:
        try:
            return set_pdf(html)
        except CannotSet:
            pass
    return laid_out(html, sheet)


def pdf_response(name: str, content: bytes) -> HttpResponse:
    """Show the PDF in the browser; it saves under `name`."""
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    return response
