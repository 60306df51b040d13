"""Recalls and drills: the lists, one of them, and its papers."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from workshop.aftersales.models import Recall
from workshop.aftersales.recalls.letters import letters as letters_to
from workshop.aftersales.recalls.lists import DRILLS, RECALLS, customers_of, lots_of
from workshop.aftersales.recalls.mail_merge import merge_sheet
from workshop.aftersales.recalls.open_issues import gaps_of
from workshop.aftersales.recalls.scope import contacts_due, scope_of
from workshop.core.access import EVERYONE, OWNER, Request, allow
from workshop.core.files.downloads import CSV_WITH_HEAD, download
from workshop.core.lists.in_memory import read_rows
from workshop.core.paper.pdf import pdf, pdf_response
from workshop.core.saving.new_tokens import new_token

MOST_SHOWN = 20  # rows of each list on the page of the whole recall
SECTIONS = {"lots": "Where every unit is", "customers": "Who was sent some of it"}


@require_GET
@allow(EVERYONE)
def home(request: Request) -> HttpResponse:
    rows = Recall.objects.filter(is_drill=False).select_related("lot__item").with_sums()
    context = {"may_start": request.user.role in OWNER}
    return RECALLS.read(request, rows).answer("aftersales/recalls.html", context)


@require_GET
@allow(EVERYONE)
def drills(request: Request) -> HttpResponse:
    rows = Recall.objects.filter(is_drill=True).select_related("lot__item", "started_by")
    context = {"may_start": request.user.role in OWNER}
    return DRILLS.read(request, rows.with_sums()).answer("aftersales/drills.html", context)


def recall_or_404(reference: str) -> Recall:
    rows = Recall.objects.select_related("lot__item", "complaint", "started_by", "closed_by")
    return get_object_or_404(rows, reference=reference)


@require_GET
@allow(EVERYONE)
def recall(request: Request, reference: str) -> HttpResponse:
    """A recall or a drill, running or closed."""
    found = recall_or_404(reference)
    context = _context(request, found)
    if not found.is_closed:
        # The page itself names each run under way, as a link.
        context["gaps"] = gaps_of(found, replace(context["reach"], open_runs=[]))
    return render(request, "aftersales/recall.html", context)


def _context(request: Request, found: Recall) -> dict[str, Any]:
    reach = scope_of(found)
    ended = found.closed_at or timezone.now()
    return {
        "recall": found,
        "reach": reach,
        "gaps": found.gaps.splitlines() if found.is_closed else gaps_of(found, reach),
        "lines": reach.lines[:MOST_SHOWN],
        "buyers": reach.buyers[:MOST_SHOWN],
        "most": MOST_SHOWN,
        "due": contacts_due(found, reach),
        "seconds": int((ended - found.started_at).total_seconds()),
        "token": new_token(),
        "may_act": request.user.role in OWNER and not found.is_closed,
    }


@require_GET
@allow(EVERYONE)
def rows(request: Request, reference: str, section: str) -> HttpResponse:
    """One list of a recall in full."""
    if section not in SECTIONS:
        raise Http404("A recall has no such list.")
    found = recall_or_404(reference)
    reach = scope_of(found)
    is_of_lots = section == "lots"
    listing = lots_of(found) if is_of_lots else customers_of(found)
    listed: Sequence[Any] = reach.lines if is_of_lots else reach.buyers
    context = {
        "recall": found,
        "reach": reach,
        "heading": SECTIONS[section],
        "is_of_lots": is_of_lots,
    }
    return read_rows(listing, request, listed).answer("aftersales/recall_rows.html", context)


@require_GET
@allow(EVERYONE)
def letters(request: Request, reference: str) -> HttpResponse:
    """A letter to every customer who has some left."""
    found = recall_or_404(reference)
    reach = scope_of(found)
    if not reach.still_out:
        raise Http404("Nobody has any of these lots left, so there is no letter to write.")
    return pdf_response(f"{found.reference}-letters", letters_to(found, reach.buyers))


@require_GET
@allow(EVERYONE)
def merge(request: Request, reference: str) -> HttpResponse:
    found = recall_or_404(reference)
    content = merge_sheet(found, scope_of(found))
    return download(f"{found.reference}-customers.csv", content, CSV_WITH_HEAD)


@require_GET
@allow(EVERYONE)
def report(request: Request, reference: str) -> HttpResponse:
    found = recall_or_404(reference)
    context = _context(request, found)
    name = f"{found.reference}-report"
    return pdf_response(name, pdf("aftersales/print/recall_report.html", context))
