"""Stock: what is on hand, one lot, a count, a discard, a change of status."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from workshop.core import formatting
from workshop.core.access import EVERYONE, OWNER, WORKERS, Request, allow
from workshop.core.forms import (
    refusals_on,
)
from workshop.core.signature import Confirmed
from workshop.ledger import services, stock_queries
from workshop.ledger.forms import CountForm, DiscardForm, LossForm, StatusForm
from workshop.ledger.lists import LOTS, STOCK
from workshop.ledger.models import (
    Item,
    ItemKind,
    Lot,
    LotQuerySet,
    OperationKind,
    Status,
    Unit,
)
from workshop.ledger.release_conditions import release_page
from workshop.ledger.stock_life import soonest_to_expire
from workshop.rules.codes.lot_codes import normalise_code

ON_HOME = 5  # lots that expire soonest


@require_GET
@allow(EVERYONE)
def home(request: Request) -> HttpResponse:
    """What there is of each item, and the lots that expire soonest."""
    today = timezone.localdate()
    items = Item.objects.active().with_on_hand(on=today)
    context = {"expiring": soonest_to_expire(today, ON_HOME)}
    return STOCK.read(request, items).answer("ledger/home.html", context)


@require_GET
@allow(EVERYONE)
def item(request: Request, code: str) -> HttpResponse:
    """One item and its lots, those in stock first."""
    found = get_object_or_404(Item.objects.with_on_hand(on=timezone.localdate()), code=code)
    lots = Lot.objects.filter(item=found).select_related("item")
    show_all = request.GET.get("all") == "yes"
    lots = lots.with_on_hand() if show_all else lots.in_stock()
    context = {"item": found, "show_all": show_all}
    return LOTS.read(request, lots).answer("ledger/item.html", context)


def lot_or_404(code: str) -> Lot:
    lots: LotQuerySet = Lot.objects.with_on_hand().select_related("item", "origin")
    return get_object_or_404(lots, code=normalise_code(code))


@require_GET
@allow(EVERYONE)
def lot(request: Request, code: str) -> HttpResponse:
    found = lot_or_404(code)
    context = {
        "lot": found,
        "balance": stock_queries.balance(found),
        "postings": stock_queries.history(found),
        "changes": list(found.status_changes.select_related("by")),
        "date_changes": list(found.date_changes.select_related("by")),
        "stopped_by_date": stock_queries.date_that_stopped(found),
        "released_at": _released_at(found),
        "corrections": found.corrections.select_related("amendment__by", "lot"),
        "sheds": found.sheds.filter(operation__kind=OperationKind.SHED).select_related(
            "by", "operation"
        ),
        "placings": stock_queries.placings_of(found),
        "is_past": found.best_before is not None and found.best_before < timezone.localdate(),
    }
    return render(request, "ledger/lot.html", context)


def _act(
    request: Request, code: str, make: Any, act: Callable[..., Any], heading: str
) -> HttpResponse:
    """Show a form about one lot; when it is filled in rightly, do the act and show the lot."""
    found = lot_or_404(code)
    form = make(request.POST or None, found)
    if form.is_valid():
        with refusals_on(form):
            said = act(found, **form.cleaned_data, by=request.user, at=timezone.now())
            messages.success(request, said)
            return redirect("ledger:lot", code=found.code)
    context = {
        "lot": found,
        "form": form,
        "heading": heading,
        "released_at": _released_at(found) if heading == "Status" else None,
    }
    return render(request, "ledger/act.html", context)


@require_http_methods(["GET", "POST"])
@allow(WORKERS)
def count(request: Request, code: str) -> HttpResponse:
    """Units of a finished lot are counted where samples of it are retained."""
    if lot_or_404(code).item.kind == ItemKind.PRODUCT:
        return redirect("packing:count", code=normalise_code(code))

    def act(found: Lot, **values: Any) -> str:
        done = services.count_lot(found, **values)
        counted = formatting.with_unit(values["counted"], found.item.unit)
        return f"{done.reference}: {counted} counted of lot {found}."

    return _act(request, code, lambda data, of: CountForm(data, lot=of), act, "Count")


@require_http_methods(["GET", "POST"])
@allow(WORKERS)
def discard(request: Request, code: str) -> HttpResponse:
    """Units of a finished lot are written off where samples of it are retained."""
    if lot_or_404(code).item.kind == ItemKind.PRODUCT:
        return redirect("packing:discard", code=normalise_code(code))

    def act(found: Lot, **values: Any) -> str:
        done = services.discard(found, **values)
        gone = formatting.with_unit(values["quantity"], found.item.unit)
        return f"{done.reference}: {gone} of lot {found} written off."

    return _act(request, code, lambda data, of: DiscardForm(data, lot=of), act, "Write off")


@require_http_methods(["GET", "POST"])
@allow(WORKERS)
def loss(request: Request, code: str) -> HttpResponse:
    """Some of a lot was spilled, evaporated or taken as a sample; pieces are written off."""
    if lot_or_404(code).item.unit != Unit.GRAM:
        return redirect("ledger:discard", code=normalise_code(code))

    def act(found: Lot, **values: Any) -> str:
        kind, grams = values.pop("kind"), values.pop("quantity")
        done = services.shed_in_store(found, kind, grams, **values)
        gone = formatting.with_unit(grams, found.item.unit)
        return f"{done.reference}: {gone} of lot {found} {kind.label}."

    return _act(request, code, lambda data, _: LossForm(data), act, "Loss in store")


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def status(request: Request, code: str) -> HttpResponse:
    """Hold, reject or take back; what a room made is released on the room's own page."""

    def act(found: Lot, *, status: str, password: Confirmed | None = None, **values: Any) -> str:
        done = services.set_lot_status(found, Status(status), confirmed=password, **values)
        return f"Lot {done} is {done.get_status_display()} now."

    def form(data: Any, of: Lot) -> StatusForm:
        return StatusForm(data, lot=of, request=request)

    return _act(request, code, form, act, "Status")


def _released_at(lot: Lot) -> str | None:
    """The page that releases this lot, while it waits for that."""
    waits = lot.status in (Status.QUARANTINE, Status.ON_HOLD)
    return release_page(lot) if waits else None
