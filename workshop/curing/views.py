"""The racks: the weekly round, one lot on its rack, and where it stands."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from workshop.core.access import EVERYONE, MAKERS, OWNER, Request, allow
from workshop.core.errors import ActionRefused
from workshop.core.formatting import with_unit
from workshop.core.forms import refusals_on, refuse
from workshop.curing import services
from workshop.curing.curve import curve_of
from workshop.curing.forms import (
    BackForm,
    CureTestForm,
    LossForm,
    RackForm,
    RoundForm,
    StandingForm,
)
from workshop.curing.models import CureTest, CureWeighing, Rack, Standing
from workshop.curing.rack_picture import on_racks_on
from workshop.curing.release_readiness import Cure, cure_of, on_racks
from workshop.ledger.models import Lot, ShedKind
from workshop.rules.codes.lot_codes import normalise_code


@require_http_methods(["GET", "POST"])
@allow(EVERYONE, write=MAKERS)
def home(request: Request) -> HttpResponse:
    """All that stands on the racks, and the weekly round: one weight a lot, on one page."""
    cures = on_racks()
    form = RoundForm(request.POST or None, cures=cures)
    if form.is_valid():
        try:
            rows = services.weigh_round(
                form.rows,
                token=form.cleaned_data["token"],
                by=request.user,
                at=timezone.now(),
            )
        except ActionRefused as error:
            refuse(form, error)
        else:
            for row in rows:
                messages.success(request, services.said_of(row))
            return redirect("curing:home")
    today = timezone.localdate()
    shown = [(cure, curve_of(cure), form.row(cure), cure.unmet(today)) for cure in cures]
    context = {
        "rows": shown,
        "racks": on_racks_on(cures, today),
        "form": form,
        "today": today,
        "may_weigh": request.user.role in MAKERS,
        "may_build": request.user.role in OWNER,
    }
    return render(request, "curing/home.html", context)


def _cure_or_404(code: str) -> Cure:
    found = get_object_or_404(Lot, code=normalise_code(code))
    cure = cure_of(found)
    if cure is None:
        raise Http404("This lot was not poured here.")
    return cure


@require_GET
@allow(EVERYONE)
def lot(request: Request, code: str) -> HttpResponse:
    cure = _cure_or_404(code)
    weighings = CureWeighing.objects.filter(lot=cure.lot, corrects=None)
    context = {
        "cure": cure,
        "lot": cure.lot,
        "curve": curve_of(cure),
        "unmet": cure.unmet(timezone.localdate()),
        "weighings": weighings.select_related("by", "reversal__by", "operation"),
        "last": cure.weighings[-1] if cure.weighings else None,
        "tests": CureTest.objects.filter(lot=cure.lot).select_related("by"),
        "standings": Standing.objects.filter(lot=cure.lot).select_related("rack", "by"),
        "sheds": cure.lot.sheds.filter(operation__kind="shed").select_related("by", "operation"),
        "may_weigh": request.user.role in MAKERS,
        "may_decide": request.user.role in OWNER,
    }
    return render(request, "curing/lot.html", context)


def _act(
    request: Request, code: str, form: forms.Form, do: Callable[[Lot], str], heading: str
) -> HttpResponse:
    cure = _cure_or_404(code)
    if form.is_valid():
        with refusals_on(form):
            messages.success(request, do(cure.lot))
            return redirect("curing:lot", code=cure.lot.code)
    context = {"cure": cure, "lot": cure.lot, "form": form, "heading": f"{heading} {cure.lot}"}
    return render(request, "curing/act.html", context)


@require_http_methods(["GET", "POST"])
@allow(MAKERS)
def put(request: Request, code: str) -> HttpResponse:
    """Say where a lot stands."""
    form = StandingForm(request.POST or None)

    def do(found: Lot) -> str:
        row = services.put_on_rack(found, **form.cleaned_data, by=request.user, at=timezone.now())
        return f"Lot {found} stands on {row}."

    return _act(request, code, form, do, "Put on a rack: lot")


@require_http_methods(["GET", "POST"])
@allow(MAKERS)
def lose(request: Request, code: str) -> HttpResponse:
    """Bars were trimmed, or some of the lot was taken as a sample."""
    form = LossForm(request.POST or None)

    def do(found: Lot) -> str:
        typed: dict[str, Any] = {**form.cleaned_data, "kind": ShedKind(form.cleaned_data["kind"])}
        grams: Decimal = typed["grams"]
        done = services.lose(found, **typed, by=request.user, at=timezone.now())
        return f"{done.reference}: {with_unit(grams, 'g')} {typed['kind'].label}."

    return _act(request, code, form, do, "Trimmed or sampled: lot")


@require_http_methods(["GET", "POST"])
@allow(MAKERS)
def test(request: Request, code: str) -> HttpResponse:
    form = CureTestForm(request.POST or None)

    def do(found: Lot) -> str:
        row = services.add_test(found, **form.values, by=request.user, at=timezone.now())
        return f"Recorded: {row}{'' if row.is_within else ', outside its limits'}."

    return _act(request, code, form, do, "A test of lot")


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def back(request: Request, code: str, pk: int) -> HttpResponse:
    """Take a wrong weighing back, and what it said had dried off."""
    weighing = get_object_or_404(
        CureWeighing.objects.effective().select_related("lot", "operation"),
        pk=pk,
        lot__code=normalise_code(code),
    )
    form = BackForm(request.POST or None)

    def do(found: Lot) -> str:
        services.take_weighing_back(
            weighing, **form.cleaned_data, by=request.user, at=timezone.now()
        )
        return f"The weighing of {with_unit(weighing.weight_g, 'g')} is taken back."

    return _act(request, code, form, do, "Take a weighing back: lot")


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def rack(request: Request, pk: int | None = None) -> HttpResponse:
    """Enter a rack, or take one out of use."""
    found = get_object_or_404(Rack, pk=pk) if pk else None
    initial = {"name": found.name, "is_active": found.is_active} if found else None
    form = RackForm(request.POST or None, initial=initial)
    if form.is_valid():
        with refusals_on(form):
            kept = services.save_rack(
                **form.cleaned_data, rack=found, by=request.user, at=timezone.now()
            )
            messages.success(request, f"{kept} is saved.")
            return redirect("curing:new-rack")
    context = {"form": form, "rack": found, "racks": Rack.objects.all()}
    return render(request, "curing/racks.html", context)
