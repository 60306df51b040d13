"""Recalls and drills: the list, one of them with its papers, and what is done in it."""

import secrets
from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from workshop.core.access import EVERYONE, OWNER, Request, allow
from workshop.core.errors import Refused
from workshop.core.forms import refuse
from workshop.core.pages import PER_PAGE, asked_for, page_of
from workshop.core.paper import pdf, pdf_response
from workshop.core.tokens import new_token
from workshop.dispatch.models import Customer
from workshop.ledger.models import Lot
from workshop.trace import recalls
from workshop.trace.affected import contacts_due, percent_of, reach_of, reach_of_lot
from workshop.trace.gaps import gaps_of
from workshop.trace.models import Complaint, Recall
from workshop.trace.notices import letters_context, merge_sheet
from workshop.trace.reading import read_lot
from workshop.trace.recall_forms import (
    CloseRecallForm,
    DrillForm,
    RecallForm,
    RecallNoteForm,
    TalkForm,
    TermsForm,
    TokenForm,
)

MOST_SHOWN = 20  # rows of each list on the page of the whole recall
SECTIONS = {"lots": "Where all of each lot is", "customers": "Who was sent some of it"}


@require_GET
@allow(EVERYONE)
def home(request: Request) -> HttpResponse:
    rows = Recall.objects.filter(is_drill=False).select_related("lot__item", "started_by")
    return _list(request, rows, "trace/recalls.html")


@require_GET
@allow(EVERYONE)
def drills(request: Request) -> HttpResponse:
    rows = Recall.objects.filter(is_drill=True).select_related("lot__item", "started_by")
    return _list(request, rows, "trace/drills.html")


def _list(request: Request, rows: QuerySet[Recall], template: str) -> HttpResponse:
    page = page_of(request, rows.with_sums())  # type: ignore[attr-defined]
    shown = [(row, percent_of(row.made, row.missing)) for row in page]
    context = {"page": page, "rows": shown, "may_start": request.user.role in OWNER}
    return render(request, template, context)


def recall_or_404(reference: str) -> Recall:
    rows = Recall.objects.select_related("lot__item", "complaint", "started_by", "closed_by")
    return get_object_or_404(rows, reference=reference)


@require_GET
@allow(EVERYONE)
def recall(request: Request, reference: str) -> HttpResponse:
    """A recall or a drill, running or closed."""
    return render(request, "trace/recall.html", _context(request, recall_or_404(reference)))


def _context(request: Request, found: Recall) -> dict[str, Any]:
    reach = reach_of(found)
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
    """One list of a recall in full, page by page."""
    if section not in SECTIONS:
        raise Http404("A recall has no such list.")
    found = recall_or_404(reference)
    context = _context(request, found)
    listed: list[Any] = context["reach"].lines if section == "lots" else context["reach"].buyers
    page = Paginator(listed, PER_PAGE).get_page(request.GET.get("page"))
    context |= {"page": page, "lines": page, "buyers": page}
    context |= {"heading": SECTIONS[section], "template": f"trace/_recall_{section}.html"}
    return render(request, "trace/recall_rows.html", context)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def new(request: Request) -> HttpResponse:
    """Begin a recall, after a look at what it would reach."""
    complaint = Complaint.objects.filter(reference=asked_for(request, "complaint")).first()
    initial = {"lot": asked_for(request, "lot"), "reason": ""}
    form = RecallForm(request.POST or None, initial=initial)
    if form.is_valid():
        try:
            begun = recalls.start(
                **form.cleaned_data, complaint=complaint, by=request.user, at=timezone.now()
            )
        except Refused as error:
            refuse(form, error)
        else:
            messages.success(request, _begun(begun))
            return redirect("trace:recall", reference=begun.reference)
    reading = read_lot(initial["lot"]) if initial["lot"] else None
    lot = reading.lot if reading else None
    context = {
        "form": form,
        "lot": lot,
        "reading": reading,
        "reach": reach_of_lot(lot) if lot else None,
        "complaint": complaint,
        "most": MOST_SHOWN,
    }
    return render(request, "trace/recall_new.html", context)


def _begun(begun: Recall) -> str:
    held = begun.entries.filter(what="held").first()
    lots = f"on hold: {held.words}" if held else "nothing was left in the house to put on hold"
    return f"Recall {begun} of lot {begun.lot} is open; {lots}."


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def new_drill(request: Request) -> HttpResponse:
    form = DrillForm(request.POST or None, initial={"lot": asked_for(request, "lot")})
    if form.is_valid():
        try:
            begun = recalls.start(
                form.cleaned_data["lot"] or _any_lot(),
                reason=form.cleaned_data["reason"],
                is_drill=True,
                token=form.cleaned_data["token"],
                by=request.user,
                at=timezone.now(),
            )
        except Refused as error:
            refuse(form, error)
        else:
            return redirect("trace:recall", reference=begun.reference)
    return render(request, "trace/drill_new.html", {"form": form})


def _any_lot() -> Lot:
    """Any lot with the same chance, without sorting them all by a random number."""
    lots = Lot.objects.order_by("pk")
    count = lots.count()
    if not count:
        raise Refused("There is no lot in the book yet.")
    return lots[secrets.randbelow(count)]


@require_POST
@allow(frozenset(), write=OWNER)
def hold(request: Request, reference: str) -> HttpResponse:
    found = recall_or_404(reference)
    form = TokenForm(request.POST)
    token = form.cleaned_data["token"] if form.is_valid() else new_token()
    try:
        lots = recalls.hold(found, by=request.user, at=timezone.now(), token=token)
    except Refused as error:
        messages.error(request, error.sentence)
    else:
        named = ", ".join(str(lot) for lot in lots) or "nothing more to put on hold"
        messages.success(request, f"On hold: {named}.")
    return redirect("trace:recall", reference=found.reference)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def terms(request: Request, reference: str) -> HttpResponse:
    found = recall_or_404(reference)
    form = TermsForm(request.POST or None, recall=found)
    return _act(request, found, form, "Change the terms", recalls.set_terms)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def note(request: Request, reference: str) -> HttpResponse:
    found = recall_or_404(reference)
    form = RecallNoteForm(request.POST or None)
    return _act(request, found, form, "Write into the log", recalls.note)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def close(request: Request, reference: str) -> HttpResponse:
    found = recall_or_404(reference)
    reach = reach_of(found)
    form = CloseRecallForm(request.POST or None, recall=found, lines=reach.in_house)

    def end(recall: Recall, **values: Any) -> None:
        kept = {name: values[name] for name in ("by", "at", "token")}
        recalls.close(recall, cause=values.get("cause", ""), found=form.found, **kept)

    heading = "Stop the clock" if found.is_drill else "Close with the account of every unit"
    return _act(request, found, form, heading, end)


def _act(
    request: Request, found: Recall, form: forms.Form, heading: str, service: Callable[..., Any]
) -> HttpResponse:
    if form.is_valid():
        try:
            service(found, **form.cleaned_data, by=request.user, at=timezone.now())
        except Refused as error:
            refuse(form, error)
        else:
            messages.success(request, f"{found}: it stands in the log below.")
            return redirect("trace:recall", reference=found.reference)
    context = {"recall": found, "form": form, "heading": heading}
    context["seconds"] = int((timezone.now() - found.started_at).total_seconds())
    return render(request, "trace/recall_act.html", context)


@require_http_methods(["GET", "POST"])
@allow(EVERYONE, write=OWNER)
def customer(request: Request, reference: str, pk: int) -> HttpResponse:
    """One customer of a recall: what they have, what was said, and the next call."""
    found, person = recall_or_404(reference), get_object_or_404(Customer, pk=pk)
    form = TalkForm(request.POST or None)
    if form.is_valid():
        try:
            recalls.talk(
                found,
                person,
                **form.talk,
                token=form.cleaned_data["token"],
                by=request.user,
                at=timezone.now(),
            )
        except Refused as error:
            refuse(form, error)
        else:
            messages.success(request, f"{person}: it stands in the log of {found}.")
            return redirect("trace:recall", reference=found.reference)
    buyers = [buyer for buyer in reach_of(found).buyers if buyer.customer.pk == pk]
    if not buyers:
        raise Http404("This customer was sent none of these lots.")
    may_act = request.user.role in OWNER and not found.is_closed
    context = {"recall": found, "buyer": buyers[0], "form": form if may_act else None}
    return render(request, "trace/recall_customer.html", context)


@require_GET
@allow(EVERYONE)
def letters(request: Request, reference: str) -> HttpResponse:
    """A letter to every customer, one page each."""
    found = recall_or_404(reference)
    buyers = reach_of(found).buyers
    if not buyers:
        raise Http404("Nobody was sent any of these lots, so there is no letter to write.")
    context = letters_context(found, buyers, timezone.localdate())
    name = f"{found.reference}-letters"
    return pdf_response(name, pdf("trace/print/recall_letters.html", context))


@require_GET
@allow(EVERYONE)
def merge(request: Request, reference: str) -> HttpResponse:
    found = recall_or_404(reference)
    content = merge_sheet(found, reach_of(found))
    response = HttpResponse(content, content_type="text/csv; charset=utf-8; header=present")
    response["Content-Disposition"] = f'attachment; filename="{found.reference}-customers.csv"'
    return response


@require_GET
@allow(EVERYONE)
def report(request: Request, reference: str) -> HttpResponse:
    found = recall_or_404(reference)
    context = _context(request, found)
    name = f"{found.reference}-report"
    return pdf_response(name, pdf("trace/print/recall_report.html", context))
