"""Pages of what labels are made from: designs, versions, sizes."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from workshop.core.access import EVERYONE, OWNER, Request, allow
from workshop.core.forms import (
    refusals_on,
)
from workshop.core.models import Workshop
from workshop.labels.content.label import design_of, markets_of
from workshop.labels.design.forms import DesignForm, SizeForm
from workshop.labels.models import LabelVersion, OwnSize
from workshop.labels.printing.views import shown
from workshop.labels.services import designs
from workshop.ledger.models import Lot, OperationKind
from workshop.packing.models import Product


def product_or_404(code: str) -> Product:
    found = Product.objects.select_related("item", "bulk", "container", "label_design")
    return get_object_or_404(found, item__code=code)


@require_GET
@allow(EVERYONE)
def product(request: Request, code: str) -> HttpResponse:
    """What a product's labels say, and the versions approved so far."""
    found = product_or_404(code)
    workshop = Workshop.objects.first()
    lots = Lot.objects.filter(item=found.item, origin__kind=OperationKind.PACKING).order_by("-pk")
    context = {
        "product": found,
        "design": design_of(found),
        "markets": markets_of(found, workshop) if workshop else [],
        "versions": LabelVersion.objects.filter(product=found).with_names(),
        "lots": lots.exclude(status="rejected")[:10],
    }
    return shown(request, "labels/product.html", context)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def design(request: Request, code: str) -> HttpResponse:
    found = product_or_404(code)
    form = DesignForm(request.POST or None, design=design_of(found))
    if form.is_valid():
        with refusals_on(form):
            designs.save_design(found, form.cleaned_data, by=request.user, at=timezone.now())
            messages.success(request, f"What the labels of {found} say is saved.")
            return redirect("labels:product", code=found.item.code)
    return shown(request, "labels/design.html", {"product": found, "form": form})


@require_GET
@allow(EVERYONE)
def sizes(request: Request) -> HttpResponse:
    return shown(request, "labels/sizes.html", {"sizes": OwnSize.objects.all()})


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def new_size(request: Request) -> HttpResponse:
    return _size_form(request, None)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def change_size(request: Request, pk: int) -> HttpResponse:
    return _size_form(request, get_object_or_404(OwnSize, pk=pk))


def _size_form(request: Request, size: OwnSize | None) -> HttpResponse:
    form = SizeForm(request.POST or None, size=size)
    if form.is_valid():
        with refusals_on(form):
            kept = designs.save_size(form.values(), by=request.user, at=timezone.now(), size=size)
            messages.success(request, f"Size {kept} is kept.")
            return redirect("labels:sizes")
    return shown(request, "labels/size.html", {"form": form, "size": size})
