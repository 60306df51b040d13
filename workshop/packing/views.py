"""Pages of the packing room."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from workshop.core.access import EVERYONE, OWNER, WORKERS, Request, allow
from workshop.core.forms import (
    refusals_on,
)
from workshop.core.saving.edit_conflicts import up_to_date
from workshop.packing import queries
from workshop.packing.fill_control.fill_picture import fills_of
from workshop.packing.lists import AWAITING, PRODUCTS, RUNS, to_pack_list
from workshop.packing.models import Product
from workshop.packing.product_forms import ProductForm
from workshop.packing.runs import packable
from workshop.packing.services import products as describing

ON_HOME = 10
LATEST_FILLS = 6


@require_GET
@allow(EVERYONE)
def home(request: Request) -> HttpResponse:
    """Runs under way, bulk to pack, finished lots to judge, and the last runs."""
    today = timezone.localdate()
    waiting = queries.awaiting()
    listing = to_pack_list(may_pack=request.user.role in WORKERS)
    ready = listing.read(request, packable.to_pack(on=today))
    context = {
        "under_way": queries.under_way(),
        "too_little": packable.by_item(packable.too_little(on=today)),
        "awaiting": AWAITING.first(request, waiting, ON_HOME),
        "awaiting_count": waiting.count(),
        "fills": fills_of(queries.runs()[:LATEST_FILLS]),
        "runs": RUNS.first(request, queries.runs(), ON_HOME),
        "has_products": ready.page.object_list or Product.objects.exists(),
    }
    return ready.answer("packing/home.html", context)


@require_GET
@allow(EVERYONE)
def awaiting(request: Request) -> HttpResponse:
    return AWAITING.read(request, queries.awaiting()).answer("packing/awaiting.html")


@require_GET
@allow(EVERYONE)
def runs(request: Request) -> HttpResponse:
    return RUNS.read(request, queries.runs()).answer("packing/runs.html")


@require_GET
@allow(EVERYONE)
def products(request: Request) -> HttpResponse:
    return PRODUCTS.read(request, queries.products()).answer("packing/products.html")


def product_or_404(code: str) -> Product:
    found = Product.objects.select_related("item", "bulk", "container")
    return get_object_or_404(found, item__code=code)


@require_GET
@allow(EVERYONE)
def product(request: Request, code: str) -> HttpResponse:
    found = product_or_404(code)
    made = queries.runs().filter(product=found)
    return RUNS.read(request, made).answer("packing/product.html", {"product": found})


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def new_product(request: Request) -> HttpResponse:
    return _product_form(request, None)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def change_product(request: Request, code: str) -> HttpResponse:
    return _product_form(request, product_or_404(code))


def _product_form(request: Request, found: Product | None) -> HttpResponse:
    asked = request.GET.get("bulk")
    begun = {"initial": {"bulk": asked}} if found is None and asked else {}
    form = ProductForm(request.POST or None, product=found, **begun)
    if form.is_valid():
        with refusals_on(form), up_to_date(form):
            kept = describing.save_product(
                form.facts(), by=request.user, at=timezone.now(), product=found
            )
            holds = f"one {kept.unit_name} holds {kept.fill} of {kept.bulk}"
            messages.success(request, f"{kept}: {holds}.")
            return redirect("packing:product", code=kept.item.code)
    return render(request, "packing/product_form.html", {"form": form, "product": found})
