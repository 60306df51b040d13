"""Finished units on the shelf: counted, written off, retained as samples."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from workshop.core.access import EVERYONE, WORKERS, Request, allow
from workshop.core.formatting import number, with_unit
from workshop.core.forms import (
    refusals_on,
)
from workshop.ledger.forms import CountForm, DiscardForm
from workshop.ledger.models import ItemKind, Lot
from workshop.packing import services
from workshop.packing.fill_control.forms import UnpackForm
from workshop.packing.lists import samples_list
from workshop.packing.services import count_units
from workshop.packing.stock.retained import kept_back, places_of, retained_of, sellable
from workshop.rules.codes.lot_codes import normalise_code


def finished_or_404(code: str) -> Lot:
    lots = Lot.objects.with_on_hand().select_related("item", "origin")
    return get_object_or_404(lots, code=normalise_code(code), item__kind=ItemKind.PRODUCT)


@require_http_methods(["GET", "POST"])
@allow(WORKERS)
def count(request: Request, code: str) -> HttpResponse:
    lot = finished_or_404(code)
    form = CountForm(request.POST or None, lot=lot)
    return _act(request, lot, form, count_units.count_units, "Count")


@require_http_methods(["GET", "POST"])
@allow(WORKERS)
def discard(request: Request, code: str) -> HttpResponse:
    lot = finished_or_404(code)
    form = DiscardForm(request.POST or None, lot=lot)
    return _act(request, lot, form, count_units.discard_units, "Write off")


@require_http_methods(["GET", "POST"])
@allow(WORKERS)
def unpack(request: Request, code: str) -> HttpResponse:
    """Bars to be grated, salve to be melted: units become bulk again."""
    lot = finished_or_404(code)
    form = UnpackForm(request.POST or None)
    if form.is_valid():
        with refusals_on(form):
            made = services.unpack(lot, **form.cleaned_data, by=request.user, at=timezone.now())
            units, grams = (form.cleaned_data[name] for name in ("units", "grams"))
            messages.success(
                request,
                f"{made.origin.reference}: {with_unit(grams, 'g')} out of {number(units)} of lot "
                f"{lot} are lot {made} of {made.item}. Once an owner has released it, it goes into "
                "a kettle as any bulk.",
            )
            return redirect("ledger:lot", code=made.code)
    context = {"lot": lot, "form": form, "heading": "Unpack"} | _kept(lot)
    return render(request, "packing/stock_act.html", context)


def _act(
    request: Request,
    lot: Lot,
    form: CountForm | DiscardForm,
    act: Callable[..., Any],
    heading: str,
) -> HttpResponse:
    if form.is_valid():
        with refusals_on(form):
            done = act(lot, **form.cleaned_data, by=request.user, at=timezone.now())
            name, word = ("counted",) * 2 if heading == "Count" else ("quantity", "written off")
            units = form.cleaned_data[name]
            messages.success(request, f"{done.reference}: {number(units)} of lot {lot} {word}.")
            return redirect("ledger:lot", code=lot.code)
    context = {"lot": lot, "form": form, "heading": heading} | _kept(lot)
    return render(request, "packing/stock_act.html", context)


def _kept(lot: Lot) -> dict[str, Any]:
    return {
        "kept": retained_of(lot),
        "free": sellable(lot),
        "places": places_of(lot),
    }


@require_GET
@allow(EVERYONE)
def kept(request: Request, code: str) -> HttpResponse:
    """A sentence for the page of a lot: how many of it are kept back, where, and how many go."""
    lot = finished_or_404(code)
    return render(request, "packing/_kept_of.html", {"lot": lot} | _kept(lot))


@require_GET
@allow(EVERYONE)
def samples(request: Request) -> HttpResponse:
    """All units retained as samples."""
    today = timezone.localdate()
    return samples_list(on=today).read(request, kept_back()).answer("packing/samples.html")
