"""Batches: the list, planning one, its plan, its record on the page and on paper."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from workshop.core import formatting
from workshop.core.access import EVERYONE, MAKERS, OWNER, Request, allow
from workshop.core.forms import (
    refusals_on,
)
from workshop.core.lists.listing import mentioning
from workshop.core.paper.pdf import pdf_response
from workshop.kettle import services
from workshop.kettle.equipment.cleaning import cleaning_missing
from workshop.kettle.equipment.contents import what_is_in_them
from workshop.kettle.equipment.scale_suitability import cure_g, fitness
from workshop.kettle.lists import NAMES, OVER, UNDER_WAY
from workshop.kettle.models import Batch
from workshop.kettle.record.paper import record_context, record_pdf
from workshop.kettle.weighing.forms import PlanForm
from workshop.kettle.weighing.safety_cautions import of_step, said_once
from workshop.kettle.weighing.screen import screen_of

MOST_UNDER_WAY = 50


@require_GET
@allow(EVERYONE)
def home(request: Request) -> HttpResponse:
    """Batches under way, then all others, the latest first; `q` narrows both down."""
    batches = Batch.objects.with_names().with_weights()
    over = OVER.read(request, batches.over())
    under_way = mentioning(*NAMES)(batches.under_way(), over.text)
    context = {
        "kettles": what_is_in_them(),
        "under_way": UNDER_WAY.first(request, under_way, MOST_UNDER_WAY),
        "may_plan": request.user.role in MAKERS,
    }
    return over.answer("kettle/home.html", context)


def batch_or_404(reference: str) -> Batch:
    batches = Batch.objects.with_names().with_weights()
    found: Batch = get_object_or_404(batches, operation__reference=reference)
    return found


@require_http_methods(["GET", "POST"])
@allow(MAKERS)
def plan(request: Request) -> HttpResponse:
    initial = {name: request.GET[name] for name in ("version", "units") if name in request.GET}
    form = PlanForm(request.POST or None, initial=initial)
    if form.is_valid():
        with refusals_on(form):
            batch = services.plan_batch(**form.cleaned_data, by=request.user, at=timezone.now())
            target = formatting.with_unit(batch.target_g, "g")
            messages.success(request, f"{batch} is planned: {target} of {batch.version.formula}.")
            return redirect("kettle:sheet", reference=batch.operation.reference)
    return render(request, "kettle/plan.html", {"form": form})


@require_GET
@allow(EVERYONE)
def sheet(request: Request, reference: str) -> HttpResponse:
    """The plan: targets, lots to fetch, what is short, and what the scale cannot weigh well."""
    batch = batch_or_404(reference)
    screen = screen_of(batch, on=timezone.localdate())
    rows = [row for row in screen.lines if row.line.is_planned]
    unfit = [row for row in rows if row.advice and not row.advice.is_fine]
    steps = list(batch.version.steps.all())
    context = {
        "batch": batch,
        "rows": rows,
        "soap": screen.soap,
        "short": [row for row in rows if row.proposal.short_g],
        "unfit": unfit,
        "fitness": [fitness(batch, row.line, row.scale) for row in rows],
        "cure_g": cure_g(batch, [row.line for row in rows]) if unfit else None,
        "steps": [(step, of_step(step)) for step in steps],
        "cautions": said_once(text for row in rows for text in row.cautions),
        "uncleaned": cleaning_missing(batch),
        "may_weigh": request.user.role in MAKERS,
    }
    return render(request, "kettle/sheet.html", context)


@require_GET
@allow(EVERYONE)
def batch(request: Request, reference: str) -> HttpResponse:
    """The record of a batch, and what may be done with it now."""
    found = batch_or_404(reference)
    context = record_context(found) | {
        "may_work": request.user.role in MAKERS and not found.is_ended,
        "uncleaned": cleaning_missing(found),
        "may_decide": request.user.role in OWNER,
    }
    return render(request, "kettle/batch.html", context)


@require_GET
@allow(EVERYONE)
def paper(request: Request, reference: str) -> HttpResponse:
    found = batch_or_404(reference)
    made = record_pdf(found, by=request.user, at=timezone.now())
    return pdf_response(f"batch-record-{found}", made)
