"""Pages that take a dispatch back whole, or correct what was written down."""

from functools import partial

from django.http import HttpResponse
from django.views.decorators.http import require_http_methods

from workshop.core import formatting
from workshop.core.access import OWNER, Request, allow
from workshop.dispatch.corrections.forms import CorrectDispatchForm
from workshop.dispatch.dispatch_lines import lines_of
from workshop.dispatch.services import corrections
from workshop.dispatch.views import dispatch_or_404
from workshop.ledger.amendments.forms import TakeBackForm
from workshop.ledger.amendments.views import amend_page


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def undo(request: Request, reference: str) -> HttpResponse:
    found = dispatch_or_404(reference)
    lots = ", ".join(
        f"{formatting.number(line.sent)} of lot {line.lot}" for line in lines_of(found)
    )
    return amend_page(
        request,
        TakeBackForm(request.POST or None),
        partial(corrections.undo, found),
        heading=f"Take dispatch {found} back",
        lead=f"For a dispatch that never left. {lots}: back on the shelf as they were. What came"
        " back from the customer is recorded as a return instead.",
        said=f"{found} is taken back: {lots} are on the shelf again.",
        back=("dispatch:dispatch", reference),
        in_the_way=corrections.obstacle(found),
    )


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def correct(request: Request, reference: str) -> HttpResponse:
    found = dispatch_or_404(reference)
    confirmed = corrections.confirmed_by(found)
    return amend_page(
        request,
        CorrectDispatchForm(request.POST or None, dispatch=found, confirmed=confirmed),
        partial(corrections.correct, found),
        heading=f"Correct dispatch {found}",
        lead="What it said before stays in the record. Wrong lots or units are taken back instead,"
        " and sent again.",
        said=f"Dispatch {found} is corrected and sealed again.",
        back=("dispatch:dispatch", reference),
    )
