"""Tags of places: a name to read across the room, and a code to scan."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from workshop.core.models import Workshop
from workshop.core.paper.barcodes import as_source, code128
from workshop.core.paper.pdf import pdf
from workshop.ledger.models import Place
from workshop.rules.markets.laws import law_of

# The sheet, the size and the bars of a lot's tag: both come from the same roll.
STYLE = "css/lot-tag.css"
BAR_MM = Decimal("0.5")
ROLL = "roll"


def tags_pdf(places: Sequence[Place], *, on: date, on_roll: bool) -> bytes:
    """One tag a page for a label printer, or all of them on sheets to cut apart."""
    workshop = Workshop.objects.first()
    sheet = law_of(workshop.market).paper if workshop else "letter"
    tags = [
        (one, as_source(code128(one.code, bar_mm=BAR_MM, height_mm=Decimal(16)))) for one in places
    ]
    context = {"tags": tags, "paper": ROLL if on_roll else sheet, "printed_on": on}
    return pdf("counts/print/place_tags.html", context, sheet=STYLE)
