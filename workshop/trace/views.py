"""Trace: any lot back to its suppliers and forward to its customers."""

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from workshop.core.access import EVERYONE, Request, allow
from workshop.core.lists.in_memory import read_rows
from workshop.ledger.lists import postings_list
from workshop.ledger.models import Lot
from workshop.rules.codes.lot_codes import normalise_code
from workshop.trace.diagram.drawing import picture_of
from workshop.trace.exports.report import SECTIONS
from workshop.trace.lists import TRACED
from workshop.trace.lot.balance_postings import FIGURES, postings_of, total_of
from workshop.trace.lot.headline import headline
from workshop.trace.lot.lists import lists_of
from workshop.trace.lot.query import last_change, trace
from workshop.trace.lot.related_lots import siblings_of
from workshop.trace.lot.under_way import under_way

MOST_SHOWN = 20  # rows of each list on the page of the whole trace


@require_GET
@allow(EVERYONE)
def home(request: Request) -> HttpResponse:
    lots = Lot.objects.select_related("item", "origin")
    return TRACED.read(request, lots).answer("trace/home.html")


def lot_or_404(code: str) -> Lot:
    return get_object_or_404(
        Lot.objects.select_related("item"), code=normalise_code(code).replace("\x00", "")
    )


@require_GET
@allow(EVERYONE)
def lot(request: Request, code: str) -> HttpResponse:
    found = trace(lot_or_404(code))
    lists = {name.replace("-", "_"): rows(found) for name, (rows, _) in SECTIONS.items()}
    open_now = under_way(found)
    context = {
        "trace": found,
        "lot": found.lot,
        "headline": headline(found, open_now),
        "under_way": open_now,
        "picture": picture_of(found),
        "change": last_change(found.lot),
        "lists": {name: rows[:MOST_SHOWN] for name, rows in lists.items()},
        "sizes": {name: len(rows) for name, rows in lists.items()},
        "most": MOST_SHOWN,
        "siblings": siblings_of(found),
    }
    return render(request, "trace/lot.html", context)


@require_GET
@allow(EVERYONE)
def rows(request: Request, code: str, section: str) -> HttpResponse:
    """One list of a trace in full."""
    if section not in SECTIONS:
        raise Http404("A trace has no such list.")
    found = trace(lot_or_404(code))
    rows_of, heading = SECTIONS[section]
    shown = read_rows(lists_of(found.lot)[section], request, rows_of(found))
    return shown.answer("trace/rows.html", {"lot": found.lot, "heading": heading})


@require_GET
@allow(EVERYONE)
def postings(request: Request, code: str, figure: str) -> HttpResponse:
    """What one figure of the balance is the sum of."""
    if figure not in FIGURES:
        raise Http404("A balance has no such figure.")
    found, of = lot_or_404(code), FIGURES[figure]
    context = {
        "lot": found,
        "heading": of.heading,
        "total": total_of(found, of),
    }
    listing = postings_list(found.item, of_one_lot=True)
    return listing.read(request, postings_of(found, of)).answer("trace/postings.html", context)
