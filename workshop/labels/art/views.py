"""Pages of a product's art: its form with a live picture, and the label for a print shop."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from workshop.core.access import EVERYONE, OWNER, Request, allow
from workshop.core.errors import ActionRefused
from workshop.core.forms import refusals_on
from workshop.core.paper.pdf import pdf_response
from workshop.core.saving.edit_conflicts import up_to_date
from workshop.labels.approval.print_status import label_status
from workshop.labels.art.chosen_art import art_of, dress_of
from workshop.labels.art.forms import ArtForm
from workshop.labels.art.print_check import refuse_rough
from workshop.labels.art.print_shop_file import press_pdf
from workshop.labels.content.label import label_for
from workshop.labels.design.views import product_or_404
from workshop.labels.layout.fit_to_label import draw
from workshop.labels.layout.label_stock import BY_KEY
from workshop.labels.layout.preview_image import as_source
from workshop.labels.models import Art
from workshop.labels.printing.forms import LayoutForm, market_asked
from workshop.labels.printing.views import lot_or_404, no_label, shown
from workshop.labels.services.art import FILES, save_art
from workshop.ledger.models import Lot, OperationKind
from workshop.packing.models import Product

SHOWN_ON = ("lid-60", "100x70")


@require_http_methods(["GET", "POST"])
@allow(EVERYONE, write=OWNER)
def art(request: Request, code: str) -> HttpResponse:
    """What a product's labels look like."""
    product = product_or_404(code)
    form = ArtForm(request.POST or None, request.FILES or None, art=art_of(product))
    if form.is_valid():
        with refusals_on(form), up_to_date(form):
            save_art(
                product, form.look(), files=form.files_given(), without=form.taken_off(),
                by=request.user, at=timezone.now(),
            )  # fmt: skip
            messages.success(request, f"The art of {product} is kept.")
            return redirect("labels:art", code=code)
    known = art_of(product)
    files = [
        (form.fields[name].label, getattr(known, name)) for name in FILES if getattr(known, name)
    ]
    context = {"product": product, "form": form, "art": known, "files": files, **_seen(product)}
    return shown(request, "labels/art.html", context)


@require_POST
@allow(OWNER)
def art_typed(request: Request, code: str) -> HttpResponse:
    """The picture of what is chosen, beside its form; nothing is kept."""
    product = product_or_404(code)
    form = ArtForm(request.POST, art=art_of(product))
    context: dict[str, Any] = {"why": "The form is not complete yet."}
    if form.is_valid():
        known, off = art_of(product), form.taken_off()
        kept = {name: getattr(known, name) for name in FILES if name not in off}
        context = _seen(product, Art(product=product, **kept, **form.look()))
    return shown(request, "labels/_art_seen.html", context)


def _seen(product: Product, chosen: Art | None = None) -> dict[str, Any]:
    """Its newest lot's label on a lid and on a rectangle."""
    lots = Lot.objects.filter(item=product.item_id, origin__kind=OperationKind.PACKING)
    lot = lots.exclude(status="rejected").select_related("item", "origin").order_by("-pk").first()
    if lot is None:
        return {"why": "There is a picture once a lot is packed."}
    pictures = []
    for key in SHOWN_ON:
        try:
            drawn = draw(label_for(lot), BY_KEY[key], preview=True, art=chosen)
            pictures.append((BY_KEY[key], as_source(drawn.pdf), drawn.art_notes))
        except ActionRefused:
            continue
    return {"pictures": pictures, "why": "" if pictures else "It fits on none of the two."}


@require_GET
@allow(EVERYONE)
def press(request: Request, code: str) -> HttpResponse:
    """The label of a lot for a print shop, with bleed and marks."""
    lot = lot_or_404(code)
    try:
        standing = label_status(lot, market_asked(request.GET.get("market")))
        layout = LayoutForm(request.GET).chosen(standing.label)
        drawn = draw(standing.shown, layout, preview=bool(standing.stops))
        dress = dress_of(standing.label.product)
        refuse_rough(drawn.frame, dress)
    except ActionRefused as error:
        return no_label(request, lot, error)
    return pdf_response(f"press-{lot}-{layout.key}", press_pdf(drawn.words, drawn.frame, dress))
