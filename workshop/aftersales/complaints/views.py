"""Complaints: the list, one of them, what they share, trends, and what is done about each."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from django import forms
from django.contrib import messages
from django.db.models import QuerySet
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from workshop.aftersales.complaints.common_causes import what_they_share
from workshop.aftersales.complaints.common_causes_form import WindowForm
from workshop.aftersales.complaints.forms import (
    AnswerForm,
    AssessForm,
    CloseForm,
    ComplaintForm,
    NoteForm,
    ReopenForm,
    ReportForm,
)
from workshop.aftersales.complaints.lists import COMPLAINTS, trend_list
from workshop.aftersales.complaints.trends import WAYS, trend
from workshop.aftersales.models import Complaint, ComplaintState, ComplaintStep
from workshop.aftersales.named_lot import read_asked, shown_asked
from workshop.aftersales.services import complaints
from workshop.core.access import EVERYONE, OWNER, PACKERS, Request, allow
from workshop.core.forms import (
    refusals_on,
)
from workshop.core.lists.in_memory import read_rows
from workshop.core.models import Workshop
from workshop.core.web.pagination import asked_for
from workshop.labels.content.label import markets_of
from workshop.rules.markets.laws import LAWS, law_of


@require_GET
@allow(EVERYONE)
def home(request: Request) -> HttpResponse:
    rows = Complaint.objects.select_related("customer", "product").prefetch_related("lots")
    context = {
        "to_report": Complaint.objects.to_report().order_by("received_on")[:20],
        "today": timezone.localdate(),
        "may_log": request.user.role in PACKERS,
    }
    return COMPLAINTS.read(request, rows).answer("aftersales/complaints.html", context)


def complaint_or_404(reference: str) -> Complaint:
    rows: QuerySet[Complaint] = Complaint.objects.select_related(
        "customer", "product__product__label_design"
    )
    return get_object_or_404(rows, reference=reference)


@require_GET
@allow(EVERYONE)
def complaint(request: Request, reference: str) -> HttpResponse:
    found = complaint_or_404(reference)
    context = {
        "complaint": found,
        "lots": found.lots.select_related("item", "origin").order_by("pk"),
        "photos": found.photos.order_by("pk"),
        "events": found.events.select_related("by"),
        "recalls": found.recalls.order_by("pk"),
        "today": timezone.localdate(),
        "acts": _acts(found) if request.user.role in OWNER else [],
        "may_note": request.user.role in PACKERS,
        **_law_of(found),
    }
    return render(request, "aftersales/complaint.html", context)


def _law_of(found: Complaint) -> dict[str, Any]:
    """The laws of the markets that the product is sold in; of the workshop's own if unknown.

    A book without a workshop yet is told all of them.
    """
    workshop = Workshop.objects.first()
    if workshop is None:
        return {"laws": LAWS.values(), "keeps_by_us_law": True}
    product = getattr(found.product, "product", None)
    markets = markets_of(product, workshop) if product else [str(workshop.market)]
    laws = [law_of(market) for market in markets]
    return {"laws": laws, "keeps_by_us_law": any(not law.has_product_file for law in laws)}


def _acts(found: Complaint) -> list[str]:
    """What can be done next, the likeliest first."""
    next_acts = {
        ComplaintState.OPEN: ["assess"],
        ComplaintState.ASSESSED: ["answer", "close", "assess"],
        ComplaintState.ANSWERED: ["close", "answer", "assess"],
        ComplaintState.CLOSED: ["reopen"],
    }[ComplaintState(found.state)]
    waits = found.is_serious and found.reported_on is None
    return ["report", *next_acts] if waits else next_acts


@require_http_methods(["GET", "POST"])
@allow(PACKERS)
def new(request: Request) -> HttpResponse:
    asked = read_asked(request)
    initial = {"code_read": shown_asked(request, asked)}
    form = ComplaintForm(request.POST or None, request.FILES or None, initial=initial)
    if form.is_valid():
        with refusals_on(form):
            written = complaints.log(
                form.save(commit=False),
                lots=form.lots,
                photos=form.cleaned_data["photos"],
                by=request.user,
                at=timezone.now(),
                token=form.cleaned_data["token"],
            )
            about = ", ".join(f"lot {lot}" for lot in form.lots) or "no lot known yet"
            messages.success(request, f"Complaint {written} is logged: {about}.")
            return redirect("aftersales:complaint", reference=written.reference)
    reading = form.reading if form.is_bound else asked
    context = {
        "form": form,
        "files_lost": bool(request.FILES),
        "lot": reading.lot if reading else None,
        "reading": reading,
    }
    return render(request, "aftersales/complaint_new.html", context)


@require_http_methods(["GET", "POST"])
@allow(PACKERS)
def note(request: Request, reference: str) -> HttpResponse:
    found = complaint_or_404(reference)
    form = NoteForm(request.POST or None, request.FILES or None)
    return _act(request, found, form, "What has become known", complaints.note)


Service = Callable[..., Any]
ACTS: dict[str, tuple[str, Callable[..., forms.Form], Service]] = {
    "assess": ("Assess it", AssessForm, complaints.assess),
    "report": ("Report to the authority", ReportForm, complaints.report),
    "answer": ("Answer it", AnswerForm, complaints.answer),
    "close": ("Close with its cause", CloseForm, complaints.close),
    "reopen": ("Reopen", ReopenForm, complaints.reopen),
}
# What the services call the words that a form asks for under its own name.
FIRST_WORDS = ("words", "findings", "cause")


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def act(request: Request, reference: str, what: str) -> HttpResponse:
    if what not in ACTS:
        raise Http404("Nothing of that name is done to a complaint.")
    found = complaint_or_404(reference)
    heading, kind, service = ACTS[what]
    extra = {"complaint": found} if what == "assess" else {}
    return _act(request, found, kind(request.POST or None, **extra), heading, service)


def _act(
    request: Request, found: Complaint, form: forms.Form, heading: str, service: Service
) -> HttpResponse:
    if form.is_valid():
        values = dict(form.cleaned_data)
        words = next(values.pop(name) for name in FIRST_WORDS if name in values)
        with refusals_on(form):
            event = service(found, words, by=request.user, at=timezone.now(), **values)
            said = ComplaintStep(event.step).label
            messages.success(request, f"Complaint {found}: {said}. “{event.words}”")
            return redirect("aftersales:complaint", reference=found.reference)
    context = {"complaint": found, "form": form, "heading": heading}
    return render(request, "aftersales/complaint_act.html", context)


@require_GET
@allow(EVERYONE)
def shared(request: Request) -> HttpResponse:
    """What do they share?"""
    today = timezone.localdate()
    asked = request.GET if "first" in request.GET else None
    form = WindowForm(asked or _last_year(today))
    sharing = None
    if form.is_valid():
        with refusals_on(form):
            sharing = what_they_share(
                form.complaints(),
                first=form.cleaned_data["first"],
                last=form.cleaned_data["last"],
                act=form.cleaned_data["act"],
                product=form.cleaned_data["product"],
            )
    context = {"form": form, "sharing": sharing}
    return render(request, "aftersales/shared.html", context)


def _last_year(today: date) -> dict[str, str]:
    first = today - timedelta(days=365)
    return {"first": first.isoformat(), "last": today.isoformat(), "act": "batch"}


@require_GET
@allow(EVERYONE)
def trends(request: Request) -> HttpResponse:
    by = asked_for(request, "by")
    by = by if by in WAYS else "nature"
    found = trend(by, timezone.localdate())
    context = {
        "trend": found,
        "by": by,
        "ways": [(way, way.replace("-", " ")) for way in WAYS],
    }
    shown = read_rows(trend_list(found), request, found.rows, sums=found.all)
    return shown.answer("aftersales/trends.html", context)
