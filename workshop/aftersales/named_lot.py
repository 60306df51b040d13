"""The lot that a link to a new complaint, recall or drill names."""

from workshop.core.access import Request
from workshop.core.web.pagination import asked_for
from workshop.trace.lot.lot_read_from_tin import CodeReading, read_lot


def read_asked(request: Request) -> CodeReading | None:
    text = asked_for(request, "lot")
    return read_lot(text) if text else None


def shown_asked(request: Request, asked: CodeReading | None) -> str:
    """What the box begins with: the code as it stands on the tag, or else what was asked for."""
    return str(asked.lot) if asked and asked.lot else asked_for(request, "lot")
