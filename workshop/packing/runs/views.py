"""Packing runs: begun, weighed, finished, read and printed."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from workshop.core import formatting
from workshop.core.access import EVERYONE, OWNER, WORKERS, Request, allow
from workshop.core.errors import ActionRefused
from workshop.core.forms import (
    refusals_on,
    refuse,
)
from workshop.core.models import Role, Workshop
from workshop.core.paper.barcodes import as_source, code128
from workshop.core.paper.pdf import pdf, pdf_response
from workshop.core.saving.new_tokens import new_token
from workshop.ledger.models import Lot
from workshop.packing import queries, services
from workshop.packing.fill_control.chart import chart_of
from workshop.packing.fill_control.figures import FillCheck, check_of
from workshop.packing.fill_control.forms import CorrectWeightForm, TopUpForm, WeightsForm
from workshop.packing.models import PackingRun, Product
from workshop.packing.runs import lot_offers, packable
from workshop.packing.runs.forms import PackedForm, PackForm, RunReasonForm, UnitsForm
from workshop.packing.services import fill_weights, top_ups
from workshop.packing.views import product_or_404


def run_or_404(reference: str) -> PackingRun:
    found = PackingRun.objects.select_related(
        "product__item", "product__bulk", "product__container", "operation__opened_by"
    )
    return get_object_or_404(found, operation__reference=reference.upper())


@require_http_methods(["GET", "POST"])
@allow(WORKERS)
def pack(request: Request, code: str) -> HttpResponse:
    """How many units: then begin the run, or write down one that is over already."""
    found = product_or_404(code)
    if request.method == "POST":
        return _packed(request, found)
    stock = lot_offers.stock_for(found, on=timezone.localdate())
    data = request.GET if "units" in request.GET else None
    asked = UnitsForm(data, initial={"units": stock.units or None})
    context: dict[str, Any] = {"product": found, "units_form": asked, "stock": stock}
    if asked.is_valid():
        units, note = asked.cleaned_data["units"], asked.cleaned_data["note"]
        proposal = lot_offers.propose(found, units, on=timezone.localdate())
        context |= {
            "form": PackedForm(proposal=proposal, initial={"units": units, "note": note}),
            "proposal": proposal,
        }
    return render(request, "packing/pack.html", context)


def _packed(request: Request, found: Product) -> HttpResponse:
    form = _pack_form(request, found, PackedForm)
    if form.is_valid():
        try:
            lot = services.pack(found, **form.packing(), by=request.user, at=timezone.now())
        except ActionRefused as error:
            _refuse_packing(form, error)
        else:
            messages.success(request, _said(lot, form.cleaned_data["units"]))
            return redirect("packing:run", reference=lot.origin.reference)
    return render(request, "packing/pack.html", {"product": found, "form": form})


def _pack_form(request: Request, found: Product, of: type[PackForm] = PackForm) -> PackForm:
    """The form as it was sent, with every lot that it names although it is offered no more."""
    named = [name.removeprefix("lot_") for name in request.POST if name.startswith("lot_")]
    also = {int(name) for name in named if name.isdecimal() and len(name) < 18}
    proposal = lot_offers.propose(found, 0, on=timezone.localdate(), also=also)
    return of(request.POST, proposal=proposal)


def _refuse_packing(form: PackForm, error: ActionRefused) -> None:
    if error.field == "confirmed":
        form.ask_to_confirm()
    if error.field in ("is_short", "short_why"):
        form.ask_about_shortage()
    refuse(form, error)


def _said(lot: Lot, units: int) -> str:
    until = (
        f"best before {formatting.day(lot.best_before)}" if lot.best_before else "without a date"
    )
    return f"Lot {lot}: {units} units of {lot.item} packed, {until}. It waits in quarantine."


@require_POST
@allow(WORKERS)
def start(request: Request, code: str) -> HttpResponse:
    """Begin a run of so many units."""
    found = product_or_404(code)
    form = UnitsForm(request.POST)
    if form.is_valid():
        with refusals_on(form):
            run = services.plan_run(
                found,
                units=form.cleaned_data["units"],
                note=form.cleaned_data["note"],
                token=form.cleaned_data["token"],
                by=request.user,
                at=timezone.now(),
            )
            messages.success(request, f"{run}: {run.planned_units} units of {found} begun.")
            return redirect("packing:run", reference=run.operation.reference)
    stock = lot_offers.stock_for(found, on=timezone.localdate())
    context = {"product": found, "units_form": form, "stock": stock}
    return render(request, "packing/pack.html", context)


@require_http_methods(["GET", "POST"])
@allow(WORKERS)
def finish(request: Request, reference: str) -> HttpResponse:
    """What the run took and put out; afterwards its page shows the account."""
    found = run_or_404(reference)
    if not found.is_under_way and request.method == "GET":
        return redirect("packing:run", reference=found.operation.reference)
    units = found.planned_units or 0
    if request.method == "POST":
        form = _pack_form(request, found.product)
        if form.is_valid():
            figures = {name: value for name, value in form.packing().items() if name != "token"}
            try:
                lot = services.finish(found, **figures, by=request.user, at=timezone.now())
            except ActionRefused as error:
                _refuse_packing(form, error)
            else:
                messages.success(request, _said(lot, form.cleaned_data["units"]))
                return redirect("packing:run", reference=found.operation.reference)
    else:
        proposal = lot_offers.propose(found.product, units, on=timezone.localdate())
        form = PackForm(proposal=proposal, initial={"units": units or None})
    context = {
        "product": found.product,
        "run": found,
        "form": form,
        "proposal": form.proposal,
        "to_weigh": check_of(found).to_weigh,
    }
    return render(request, "packing/pack.html", context)


@require_http_methods(["GET", "POST"])
@allow(WORKERS)
def stop(request: Request, reference: str) -> HttpResponse:
    found = run_or_404(reference)
    form = RunReasonForm(request.POST or None, button="Stop the run")
    if form.is_valid():
        with refusals_on(form):
            services.stop(found, by=request.user, at=timezone.now(), **form.cleaned_data)
            messages.success(request, f"{found} is stopped; nothing was taken.")
            return redirect("packing:run", reference=found.operation.reference)
    return render(request, "packing/stop.html", {"run": found, "form": form})


@require_GET
@allow(EVERYONE)
def run(request: Request, reference: str) -> HttpResponse:
    return _page(request, run_or_404(reference))


def _page(request: Request, found: PackingRun, form: WeightsForm | None = None) -> HttpResponse:
    """A run as far as it went, with the form for its next weights."""
    check = check_of(found)
    context = _record(found, check)
    context["may_weigh"] = fill_weights.may_weigh(found, context["lot"], request.user)
    if form or context["may_weigh"]:
        last = check.samples[-1] if check.samples else None
        context["weights"] = form or WeightsForm(last=last, amends=context["lot"] is not None)
        if context["is_under_way"]:
            # A scale that types its reading and Enter goes on without a touch.
            context["weights"].fields["weights"].widget.attrs["autofocus"] = True
    template = "packing/under_way.html" if context["is_under_way"] else "packing/run.html"
    return render(request, template, context)


def _record(found: PackingRun, check: FillCheck) -> dict[str, Any]:
    """Everything that a run's page and its paper show."""
    account = queries.account(found)
    made = account.packed.lot if account.packed else None
    return {
        "run": found,
        "account": account,
        "lot": made,
        "is_under_way": found.is_under_way,
        "check": check,
        "chart": chart_of(check),
        "weighed": queries.weighed(found),
        "reasons": queries.date_reasons(made) if made else [],
        "next_runs": packable.next_runs(account),
        "token": new_token(),
        "decisions": made.status_changes.select_related("by") if made else [],
        "kept": made.retained_rows.select_related("by") if made else [],
        "amendments": found.operation.amendments.select_related("by"),
        "seals": found.operation.seals.defer("record").select_related("by"),
    }


@require_POST
@allow(WORKERS)
def weigh(request: Request, reference: str) -> HttpResponse:
    """Weights of packs; wrong ones come back on the run's own page."""
    found = run_or_404(reference)
    amends = found.operation.is_closed and request.user.role == Role.OWNER
    form = WeightsForm(request.POST, amends=amends)
    if form.is_valid():
        try:
            rows = fill_weights.weigh(
                found, **form.cleaned_data, by=request.user, at=timezone.now()
            )
        except ActionRefused as error:
            if error.field == "confirmed":
                form.ask_to_confirm()
            refuse(form, error)
        else:
            weights = ", ".join(formatting.with_unit(row.grams, "g") for row in rows)
            kind = rows[0].get_kind_display().partition(",")[0]
            messages.success(request, f"{len(rows)} weighed ({kind}): {weights}.")
            return redirect("packing:run", reference=found.operation.reference)
    return _page(request, found, form)


@require_http_methods(["GET", "POST"])
@allow(WORKERS)
def correct(request: Request, reference: str, place: int) -> HttpResponse:
    found = run_or_404(reference)
    sample = found.samples.effective().filter(place=place).first()
    if sample is None:
        messages.warning(request, f"There is no weight {place} that could be corrected.")
        return redirect("packing:run", reference=found.operation.reference)
    form = CorrectWeightForm(request.POST or None)
    if form.is_valid():
        with refusals_on(form):
            fill_weights.correct(sample, **form.cleaned_data, by=request.user, at=timezone.now())
            grams = form.cleaned_data["grams"]
            now = formatting.with_unit(grams, "g") if grams is not None else "struck out"
            was = formatting.with_unit(sample.grams, "g")
            messages.success(request, f"Weight {place} was {was} and is now {now}.")
            return redirect("packing:run", reference=found.operation.reference)
    return render(request, "packing/correct.html", {"run": found, "sample": sample, "form": form})


@require_http_methods(["GET", "POST"])
@allow(WORKERS)
def top_up(request: Request, reference: str) -> HttpResponse:
    """A short pour is filled up, and the packs that were weighed are weighed again."""
    found = run_or_404(reference)
    packs = top_ups.packs_of(found)
    typed = " ".join(f"{one.grams.normalize():f}" for one in packs if one.grams is not None)
    form = TopUpForm(request.POST or None, initial={"weights": typed})
    if form.is_valid():
        given = {name: form.cleaned_data[name] for name in ("weights", "note", "token")}
        with refusals_on(form):
            rows = top_ups.top_up(found, **given, by=request.user, at=timezone.now())
            messages.success(request, f"Topped up: {len(rows)} packs weigh more than before.")
            return redirect("packing:run", reference=found.operation.reference)
    context = {"run": found, "packs": packs, "form": form, "check": check_of(found)}
    return render(request, "packing/top_up.html", context)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def take_back(request: Request, reference: str) -> HttpResponse:
    found = run_or_404(reference)
    form = RunReasonForm(request.POST or None, button="Take the run back")
    if form.is_valid():
        with refusals_on(form):
            services.void_run(found, by=request.user, at=timezone.now(), **form.cleaned_data)
            messages.success(request, f"{found} is taken back: all it took is back in its lots.")
            return redirect("packing:run", reference=found.operation.reference)
    context = {"run": found, "account": queries.account(found), "form": form}
    return render(request, "packing/take_back.html", context)


@require_GET
@allow(EVERYONE)
def paper(request: Request, reference: str) -> HttpResponse:
    """The record of a run as a PDF."""
    found = run_or_404(reference)
    context = _record(found, check_of(found)) | {
        "on_paper": True,
        "workshop": Workshop.objects.first(),
        "bars": as_source(code128(found.operation.reference)),
        "printed_at": timezone.now(),
        "printed_by": request.user,
    }
    return pdf_response(f"packing-record-{found}", pdf("packing/print/record.html", context))
