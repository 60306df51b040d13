"""Pages of what labels are made from: designs, versions, allergens, sizes."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from workshop.core.access import EVERYONE, OWNER, PACKERS, Request, allow
from workshop.core.errors import Refused
from workshop.core.forms import refuse
from workshop.core.models import Workshop
from workshop.labels import designing
from workshop.labels.content import design_of, markets_of
from workshop.labels.design_forms import ContentsForm, DesignForm, SizeForm, UsualContentsForm
from workshop.labels.models import LabelVersion, OwnSize
from workshop.labels.views import lot_or_404, shown
from workshop.ledger.models import Act, Item, Kind, Lot
from workshop.packing.models import Product
from workshop.rules.allergens import CAUTION


def product_or_404(code: str) -> Product:
    found = Product.objects.select_related("item", "bulk", "container", "label_design")
    return get_object_or_404(found, item__code=code)


@require_GET
@allow(EVERYONE)
def product(request: Request, code: str) -> HttpResponse:
    """What a product's labels say, and the versions approved so far."""
    found = product_or_404(code)
    workshop = Workshop.objects.first()
    lots = Lot.objects.filter(item=found.item, origin__kind=Act.PACKING).order_by("-pk")
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
        try:
            designing.save_design(found, form.cleaned_data, by=request.user, at=timezone.now())
        except Refused as error:
            refuse(form, error)
        else:
            messages.success(request, f"What the labels of {found} say is kept.")
            return redirect("labels:product", code=found.item.code)
    return shown(request, "labels/design.html", {"product": found, "form": form})


@require_http_methods(["GET", "POST"])
@allow(EVERYONE, write=PACKERS)
def item_contents(request: Request, code: str) -> HttpResponse:
    """The usual allergens of a material, for lots whose certificate gives none."""
    item = get_object_or_404(Item, code=code, kind=Kind.MATERIAL)
    value = getattr(item, "soap_value", None)
    form = UsualContentsForm(
        request.POST or None, initial=_typed(item) | {"soap_value": value and value.value}
    )
    if form.is_valid():
        values, at = form.cleaned_data, timezone.now()
        designing.save_contents(
            item, values["allergens"], by=request.user, at=at, source=values["source"]
        )
        designing.save_soap_value(item, values["soap_value"], by=request.user, at=at)
        messages.success(request, f"The usual figures of {item} are kept.")
        return redirect("labels:item-contents", code=item.code)
    context = {"of": item, "form": form, "rows": item.allergens.all(), "caution": CAUTION}
    return shown(request, "labels/contents.html", context)


@require_http_methods(["GET", "POST"])
@allow(EVERYONE, write=PACKERS)
def lot_contents(request: Request, code: str) -> HttpResponse:
    """The allergens of one lot by its certificate of analysis; they beat the usual ones."""
    lot = lot_or_404(code)
    form = ContentsForm(request.POST or None, initial=_typed(lot))
    if form.is_valid():
        values = form.cleaned_data
        designing.save_contents(
            lot, values["allergens"], by=request.user, at=timezone.now(), source=values["source"]
        )
        messages.success(request, f"The figures of lot {lot} are kept.")
        return redirect("labels:lot-contents", code=lot.code)
    context = {"of": lot, "lot": lot, "form": form, "rows": lot.allergens.all()}
    return shown(request, "labels/contents.html", context | {"caution": CAUTION})


def _typed(of: Item | Lot) -> dict[str, str]:
    """The figures as the form takes them."""
    rows = list(of.allergens.all())
    lines = [f"{row.name} {row.share.normalize():f}" for row in rows]
    return {"allergens": "\n".join(lines), "source": rows[0].source if rows else ""}


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
        try:
            kept = designing.save_size(form.values(), by=request.user, at=timezone.now(), size=size)
        except Refused as error:
            refuse(form, error)
        else:
            messages.success(request, f"Size {kept} is kept.")
            return redirect("labels:sizes")
    return shown(request, "labels/size.html", {"form": form, "size": size})
