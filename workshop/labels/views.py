"""Pages of the labels room."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from workshop.core.access import EVERYONE, PACKERS, Request, allow
from workshop.core.errors import Refused
from workshop.core.forms import refuse
from workshop.core.pages import page_of
from workshop.core.paper import pdf_response
from workshop.labels import content, layouts, services
from workshop.labels.content import Label
from workshop.labels.drawing import Drawn, draw, fits
from workshop.labels.forms import LayoutForm, PrintForm
from workshop.labels.layouts import Layout
from workshop.labels.models import Print
from workshop.labels.sheets import MOST_LABELS
from workshop.ledger.models import Lot
from workshop.packing import reads
from workshop.packing.models import PackingRun
from workshop.rules.codes import normalise_code


@require_GET
@allow(EVERYONE)
def home(request: Request) -> HttpResponse:
    """The label log: every printing, the last first."""
    prints = Print.objects.select_related("lot__item", "by").defer("text")
    return _shown(request, "labels/home.html", {"page": page_of(request, prints)})


def _shown(request: Request, template: str, context: dict[str, Any]) -> HttpResponse:
    """Labels belong to the packing station in the line of stations."""
    return render(request, template, {"room": "packing", **context})


def lot_or_404(code: str) -> Lot:
    lots = Lot.objects.select_related("item__product__item", "origin")
    return get_object_or_404(lots, code=normalise_code(code))


@require_GET
@allow(EVERYONE)
def label(request: Request, code: str) -> HttpResponse:
    """A lot's label beside the facts it was computed from."""
    lot = lot_or_404(code)
    try:
        written = services.label_for(lot)
    except Refused as error:
        return _no_label(request, lot, error)
    layout = LayoutForm(request.GET).chosen(written)
    return _shown(request, "labels/label.html", _facts(written) | _fit(written, layout))


def _no_label(request: Request, lot: Lot, error: Refused) -> HttpResponse:
    return _shown(request, "labels/none.html", {"lot": lot, "why": error.sentence})


def _facts(written: Label) -> dict[str, Any]:
    lot = written.lot
    run = PackingRun.objects.select_related("operation", "product").get(operation=lot.origin)
    account = reads.account(run)
    return {
        "lot": lot,
        "label": written,
        "run": run,
        "account": account,
        "rows": content.rows(written, account.bulk_g),
        "reasons": reads.date_reasons(lot, written.product),
        "prints": lot.prints.select_related("by"),
    }


def _fit(written: Label, layout: Layout) -> dict[str, Any]:
    drawn: Drawn | None = None
    too_small = ""
    roomy: list[Layout] = []
    try:
        drawn = draw(written, layout)
    except Refused as error:
        too_small = error.sentence
        roomy = [other for other in layouts.ALL if other != layout and fits(written, other)]
    return {
        "layout": layout,
        "sizes": LayoutForm(initial={"layout": layout.key}),
        "drawn": drawn,
        "too_small": too_small,
        "roomy": roomy,
    }


@require_GET
@allow(EVERYONE)
def preview(request: Request, code: str) -> HttpResponse:
    """The label on paper, marked as a preview, so that nothing unlogged is stuck on a tin."""
    lot = lot_or_404(code)
    try:
        written = services.label_for(lot)
        layout = LayoutForm(request.GET).chosen(written)
        drawn = draw(written, layout, preview=True)
    except Refused as error:
        return _no_label(request, lot, error)
    return pdf_response(f"preview-{lot}", drawn.pdf)


@require_http_methods(["GET", "POST"])
@allow(PACKERS)
def print_form(request: Request, code: str) -> HttpResponse:
    """Ask how many; the answer is the PDF itself, and the log has noted it."""
    lot = lot_or_404(code)
    try:
        written = services.label_for(lot)
    except Refused as error:
        return _no_label(request, lot, error)
    form = PrintForm(request.POST or None, initial=_usual(request, written))
    if form.is_valid():
        try:
            paper = services.print_labels(lot, **form.order(), by=request.user, at=timezone.now())
        except Refused as error:
            refuse(form, error)
        else:
            return pdf_response(f"labels-{lot}", paper)
    context = {"lot": lot, "label": written, "form": form, "prints": lot.prints.exists()}
    return _shown(request, "labels/print.html", context)


def _usual(request: Request, written: Label) -> dict[str, Any]:
    """As many labels as units were packed, on what this product was printed on last."""
    layout = LayoutForm(request.GET).chosen(written)
    run = PackingRun.objects.select_related("operation").get(operation=written.lot.origin)
    return {"layout": layout.key, "count": min(int(reads.account(run).units), MOST_LABELS) or 1}
