"""Judging a finished lot, and keeping units of it back."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from workshop.core.access import OWNER, PACKERS, Request, allow
from workshop.core.errors import ActionRefused
from workshop.core.formatting import number
from workshop.core.forms import (
    refusals_on,
)
from workshop.ledger.models import Lot, OperationKind
from workshop.ledger.stock_queries import with_last_reason
from workshop.packing import services
from workshop.packing.fill_control.figures import check_of
from workshop.packing.fill_control.forms import GiveUpForm, RetainForm
from workshop.packing.runs.forms import RunReasonForm
from workshop.packing.services import retained_samples
from workshop.packing.stock.retained import retained_of, sellable
from workshop.rules.codes.lot_codes import normalise_code
from workshop.rules.dates.best_before import is_past


def finished_lot_or_404(code: str) -> Lot:
    lots = Lot.objects.select_related("item", "origin").filter(origin__kind=OperationKind.PACKING)
    return get_object_or_404(with_last_reason(lots), code=normalise_code(code))


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def release(request: Request, code: str) -> HttpResponse:
    """Release at one press; where the fill leaves a doubt, after a reason."""
    lot = finished_lot_or_404(code)
    # The button on the run's own page sends no reason; the form here does.
    typed = request.POST if "reason" in request.POST else None
    form = RunReasonForm(typed, button="Release the lot all the same")
    if request.method == "POST" and (typed is None or form.is_valid()):
        reason = form.cleaned_data["reason"] if typed else ""
        try:
            services.release(lot, by=request.user, at=timezone.now(), reason=reason)
        except ActionRefused as error:
            if error.field != "reason":
                messages.error(request, error.message)
                return redirect("packing:run", reference=lot.origin.reference)
        else:
            said = f": {reason}" if reason else "."
            messages.success(request, f"Lot {lot} of {lot.item} is released{said}")
            return redirect("packing:run", reference=lot.origin.reference)
    concerns = check_of(lot.origin.packing_run).concerns
    context = {"lot": lot, "form": form, "word": "Release", "concerns": concerns}
    return render(request, "packing/judge.html", context)


@require_http_methods(["GET", "POST"])
@allow(PACKERS)
def hold(request: Request, code: str) -> HttpResponse:
    return _judge(request, code, services.hold, "Hold")


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def reject(request: Request, code: str) -> HttpResponse:
    return _judge(request, code, services.reject, "Reject")


def _judge(request: Request, code: str, act: Callable[..., Lot], word: str) -> HttpResponse:
    lot = finished_lot_or_404(code)
    form = RunReasonForm(request.POST or None, button=f"{word} the lot")
    if form.is_valid():
        reason = form.cleaned_data["reason"]
        with refusals_on(form):
            lot = act(lot, by=request.user, at=timezone.now(), reason=reason)
            messages.success(request, f"Lot {lot} is {lot.get_status_display()}: {reason}")
            return redirect("packing:run", reference=lot.origin.reference)
    return render(request, "packing/judge.html", {"lot": lot, "form": form, "word": word})


@require_http_methods(["GET", "POST"])
@allow(PACKERS)
def retain(request: Request, code: str) -> HttpResponse:
    form = RetainForm(request.POST or None)
    return _keep(request, code, form, retained_samples.retain, "retained as samples")


@require_http_methods(["GET", "POST"])
@allow(PACKERS)
def give_up(request: Request, code: str) -> HttpResponse:
    form = GiveUpForm(request.POST or None)
    return _keep(request, code, form, retained_samples.give_up, "no longer retained")


def _keep(
    request: Request,
    code: str,
    form: RetainForm | GiveUpForm,
    act: Callable[..., Any],
    words: str,
) -> HttpResponse:
    lot = finished_lot_or_404(code)
    if form.is_valid():
        with refusals_on(form):
            act(lot, **form.cleaned_data, by=request.user, at=timezone.now())
            units = number(form.cleaned_data["units"])
            left = number(sellable(lot))
            messages.success(request, f"Lot {lot}: {units} {words}; {left} are left for sale.")
            return redirect("packing:run", reference=lot.origin.reference)
    context = {
        "lot": lot,
        "form": form,
        "words": words,
        "kept": retained_of(lot),
        "free": sellable(lot),
        "is_early": act is retained_samples.give_up
        and not is_past(lot.best_before, timezone.localdate()),
    }
    return render(request, "packing/keep.html", context)
