"""Pages of the packing room."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from workshop.core import shown
from workshop.core.access import EVERYONE, OWNER, PACKERS, WORKERS, Request, allow
from workshop.core.errors import Refused
from workshop.core.forms import refuse
from workshop.core.pages import asked_for, page_of
from workshop.ledger.models import Act, Lot
from workshop.packing import reads, services
from workshop.packing.forms import PackForm, ProductForm, ReasonForm, UnitsForm
from workshop.packing.models import PackingRun, Product
from workshop.rules.codes import normalise_code

ON_HOME = 10


@require_GET
@allow(EVERYONE)
def home(request: Request) -> HttpResponse:
    """Bulk to pack, finished lots to judge, and the last runs."""
    waiting = reads.awaiting()
    context = {
        "page": page_of(request, reads.ready_bulk(on=timezone.localdate())),
        "awaiting": waiting[:ON_HOME],
        "awaiting_count": waiting.count(),
        "runs": reads.runs()[:ON_HOME],
    }
    return render(request, "packing/home.html", context)


@require_GET
@allow(EVERYONE)
def awaiting(request: Request) -> HttpResponse:
    return render(request, "packing/awaiting.html", {"page": page_of(request, reads.awaiting())})


@require_GET
@allow(EVERYONE)
def runs(request: Request) -> HttpResponse:
    return render(request, "packing/runs.html", {"page": page_of(request, reads.runs())})


def run_or_404(reference: str) -> PackingRun:
    found = PackingRun.objects.select_related(
        "product__item", "product__bulk", "product__container", "operation__opened_by"
    )
    return get_object_or_404(found, operation__reference=reference.upper())


@require_GET
@allow(EVERYONE)
def run(request: Request, reference: str) -> HttpResponse:
    found = run_or_404(reference)
    account = reads.account(found)
    made = account.packed.lot if account.packed else None
    context = {
        "run": found,
        "account": account,
        "reasons": reads.date_reasons(made, found.product) if made else [],
        "amendments": found.operation.amendments.select_related("by"),
        "seals": found.operation.seals.all(),
    }
    return render(request, "packing/run.html", context)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def take_back(request: Request, reference: str) -> HttpResponse:
    found = run_or_404(reference)
    form = ReasonForm(request.POST or None, button="Take the run back")
    if form.is_valid():
        try:
            services.take_back(found, by=request.user, at=timezone.now(), **form.cleaned_data)
        except Refused as error:
            refuse(form, error)
        else:
            messages.success(request, f"{found} is taken back: all it took is in its lots again.")
            return redirect("packing:run", reference=found.operation.reference)
    context = {"run": found, "account": reads.account(found), "form": form}
    return render(request, "packing/take_back.html", context)


@require_GET
@allow(EVERYONE)
def products(request: Request) -> HttpResponse:
    asked = asked_for(request)
    context = {"page": page_of(request, reads.products(asked)), "q": asked}
    return render(request, "packing/products.html", context)


def product_or_404(code: str) -> Product:
    found = Product.objects.select_related("item", "bulk", "container")
    return get_object_or_404(found, item__code=code)


@require_GET
@allow(EVERYONE)
def product(request: Request, code: str) -> HttpResponse:
    found = product_or_404(code)
    made = reads.runs().filter(product=found)
    context = {"product": found, "page": page_of(request, made)}
    return render(request, "packing/product.html", context)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def new_product(request: Request) -> HttpResponse:
    return _product_form(request, None)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def change_product(request: Request, code: str) -> HttpResponse:
    return _product_form(request, product_or_404(code))


def _product_form(request: Request, found: Product | None) -> HttpResponse:
    form = ProductForm(request.POST or None, product=found)
    if form.is_valid():
        try:
            kept = services.save_product(
                form.facts(), by=request.user, at=timezone.now(), product=found
            )
        except Refused as error:
            refuse(form, error)
        else:
            fill = shown.with_unit(kept.fill_g, "g")
            messages.success(request, f"{kept}: one {kept.unit_name} holds {fill} of {kept.bulk}.")
            return redirect("packing:product", code=kept.item.code)
    return render(request, "packing/product_form.html", {"form": form, "product": found})


@require_http_methods(["GET", "POST"])
@allow(WORKERS)
def pack(request: Request, code: str) -> HttpResponse:
    """First how many units, then lots to correct, then done."""
    found = product_or_404(code)
    if request.method == "POST":
        return _packed(request, found)
    stock = reads.stock_for(found, on=timezone.localdate())
    data = request.GET if "units" in request.GET else None
    asked = UnitsForm(data, initial={"units": stock.units or None})
    context: dict[str, Any] = {"product": found, "units_form": asked, "stock": stock}
    if asked.is_valid():
        units = asked.cleaned_data["units"]
        proposal = reads.propose(found, units, on=timezone.localdate())
        context |= {
            "form": PackForm(proposal=proposal, initial={"units": units}),
            "proposal": proposal,
        }
    return render(request, "packing/pack.html", context)


def _packed(request: Request, found: Product) -> HttpResponse:
    named = [name.removeprefix("lot_") for name in request.POST if name.startswith("lot_")]
    also = {int(name) for name in named if name.isdecimal() and len(name) < 18}
    proposal = reads.propose(found, 0, on=timezone.localdate(), also=also)
    form = PackForm(request.POST, proposal=proposal)
    if form.is_valid():
        try:
            lot = services.pack(found, **form.packing(), by=request.user, at=timezone.now())
        except Refused as error:
            if error.field == "confirmed":
                form.ask_to_confirm()
            refuse(form, error)
        else:
            messages.success(request, _said(lot, form.cleaned_data["units"]))
            return redirect("packing:run", reference=lot.origin.reference)
    return render(request, "packing/pack.html", {"product": found, "form": form})


def _said(lot: Lot, units: int) -> str:
    until = f"best before {shown.day(lot.best_before)}" if lot.best_before else "without a date"
    return f"Lot {lot}: {units} units of {lot.item} packed, {until}. It waits in quarantine."


def finished_lot_or_404(code: str) -> Lot:
    lots = Lot.objects.select_related("item", "origin").filter(origin__kind=Act.PACKING)
    return get_object_or_404(lots, code=normalise_code(code))


@require_POST
@allow(OWNER)
def release(request: Request, code: str) -> HttpResponse:
    lot = finished_lot_or_404(code)
    try:
        services.release(lot, by=request.user, at=timezone.now())
    except Refused as error:
        messages.error(request, error.sentence)
    else:
        messages.success(request, f"Lot {lot} of {lot.item} is released.")
    return redirect("packing:run", reference=lot.origin.reference)


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
    form = ReasonForm(request.POST or None, button=f"{word} the lot")
    if form.is_valid():
        reason = form.cleaned_data["reason"]
        try:
            lot = act(lot, by=request.user, at=timezone.now(), reason=reason)
        except Refused as error:
            refuse(form, error)
        else:
            messages.success(request, f"Lot {lot} is {lot.get_status_display()}: {reason}")
            return redirect("packing:run", reference=lot.origin.reference)
    return render(request, "packing/judge.html", {"lot": lot, "form": form, "word": word})
