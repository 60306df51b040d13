"""A paper of headings, facts and tables from its HTML."""

from workshop.core.paper.typeset.chunks import PT_PER_MM, Tag, pages_of
from workshop.core.paper.typeset.flow import flow_of
from workshop.core.paper.typeset.pages import Paper, Sheets
from workshop.core.paper.typeset.pictures import laid_out, taken_out
from workshop.core.paper.typeset.reading import Element, read

A4, A4_ACROSS = Paper(), Paper(width_pt=297 * PT_PER_MM, height_pt=210 * PT_PER_MM)
LETTER = Paper(width_pt=8.5 * 72, height_pt=11 * 72)


def set_pdf(html: str) -> bytes:
    """Raises CannotSet for what needs the rules of CSS: then nothing is lost but a moment."""
    document, drawings = read(html)
    body = next(document.all("body"))
    paper = _paper(body)
    wide, high = paper.inner_pt
    drawn, pictures = laid_out(list(taken_out(body, drawings)), body.classes, wide)
    tag = Tag("Document")
    pages = pages_of(flow_of(body, wide, tag, pictures), high)
    sheets = Sheets(paper, pictures)
    for pieces in pages:
        sheets.page(pieces)
    sheets.feet(_running(body, "running-code"), _running(body, "running-about"))
    return sheets.pdf(next(document.all("title")).text, tag, drawn)


def _paper(body: Element) -> Paper:
    if "across" in body.classes:
        return A4_ACROSS
    return LETTER if "letter" in body.classes else A4


def _running(body: Element, name: str) -> str:
    return next((one.text for one in body.all("span") if name in one.classes), "")
