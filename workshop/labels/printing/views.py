"""Pages of a lot's label: what it says, whether that is true, its printing and the log."""

from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.db.models import Sum
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.defaultfilters import pluralize
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.views.decorators.http import require_GET, require_http_methods

from workshop.core.access import EVERYONE, PACKERS, Request, allow
from workshop.core.errors import ActionRefused
from workshop.core.forms import (
    refusals_on,
)
from workshop.core.paper.pdf import pdf_response
from workshop.labels import services
from workshop.labels.approval import worklist
from workshop.labels.approval.print_status import LabelStatus, label_status
from workshop.labels.content import label as content
from workshop.labels.content.declaration_rows import rows
from workshop.labels.content.label import Label
from workshop.labels.layout import label_stock
from workshop.labels.layout.fit_to_label import Drawn, draw, draw_sticker, fits
from workshop.labels.layout.label_stock import Layout
from workshop.labels.layout.preview_image import as_source
from workshop.labels.lists import PRINTS, UNLABELLED
from workshop.labels.models import Print, PrintKind
from workshop.labels.printing.forms import LayoutForm, PrintForm, market_asked
from workshop.labels.printing.reconciliation import balance_of
from workshop.labels.printing.sheet_imposition import MOST_LABELS
from workshop.ledger.models import Lot
from workshop.packing import queries
from workshop.rules.codes.lot_codes import normalise_code


@require_GET
@allow(EVERYONE)
def home(request: Request) -> HttpResponse:
    """The label log: every printing, the last first."""
    prints = Print.objects.select_related("lot__item", "by", "version").defer("text")
    return PRINTS.read(request, prints).answer("labels/home.html", {"room": "packing"})


@require_GET
@allow(EVERYONE)
def unlabelled(request: Request) -> HttpResponse:
    """Lots packed lately that have no labels yet, each with the way to print them."""
    lots = worklist.all_unlabelled(on=timezone.localdate())
    words = {"room": "packing", "days": worklist.LATELY.days}
    return UNLABELLED.read(request, lots).answer("labels/unlabelled.html", words)


def shown(request: Request, template: str, context: dict[str, Any]) -> HttpResponse:
    """Labels belong to the packing station in the line of stations."""
    return render(request, template, {"room": "packing", **context})


def lot_or_404(code: str) -> Lot:
    lots = Lot.objects.select_related("item__product__item", "item__product__label_design")
    return get_object_or_404(lots.select_related("origin"), code=normalise_code(code))


@require_GET
@allow(EVERYONE)
def label(request: Request, code: str) -> HttpResponse:
    """A lot's label beside the facts it was computed from, and whether it is true of them."""
    lot = lot_or_404(code)
    try:
        standing = label_status(lot, market_asked(request.GET.get("market")))
    except ActionRefused as error:
        return no_label(request, lot, error)
    layout = LayoutForm(request.GET).chosen(standing.label)
    return shown(request, "labels/label.html", _facts(standing) | _fit(standing.shown, layout))


def no_label(request: Request, lot: Lot, error: ActionRefused) -> HttpResponse:
    return shown(request, "labels/none.html", {"lot": lot, "why": error.message})


def _facts(standing: LabelStatus) -> dict[str, Any]:
    lot, product = standing.label.lot, standing.label.product
    run = standing.label.run
    account = queries.account(run)
    return {
        "lot": lot,
        "standing": standing,
        "label": standing.label,
        "markets": content.markets_of(product, standing.label.workshop),
        "run": run,
        "account": account,
        "rows": rows(standing.computed, account.bulk_g),
        "reasons": queries.date_reasons(lot),
        "balance": balance_of(lot),
        "prints": lot.prints.select_related("by", "version"),
        "decisions": lot.label_decisions.select_related("by", "version"),
    }


def _fit(written: Label, layout: Layout) -> dict[str, Any]:
    drawn: Drawn | None = None
    too_small = ""
    roomy: list[Layout] = []
    try:
        drawn = draw(written, layout, preview=True)
    except ActionRefused as error:
        too_small = error.message
        roomy = [other for other in label_stock.ALL if other != layout and fits(written, other)]
    return {
        "layout": layout,
        "sizes": LayoutForm(initial={"layout": layout.key}),
        "drawn": drawn,
        "picture": as_source(drawn.pdf) if drawn else "",
        "too_small": too_small,
        "roomy": roomy,
    }


@require_GET
@allow(EVERYONE)
def preview(request: Request, code: str) -> HttpResponse:
    """The label on paper, marked as a preview, so that nothing unlogged is stuck on a tin."""
    lot = lot_or_404(code)
    try:
        standing = label_status(lot, market_asked(request.GET.get("market")))
        layout = LayoutForm(request.GET).chosen(standing.label)
        if request.GET.get("kind") == PrintKind.STICKER:
            drawn = draw_sticker(standing.sticker, layout, preview=True)
        else:
            drawn = draw(standing.shown, layout, preview=True)
    except ActionRefused as error:
        return no_label(request, lot, error)
    return pdf_response(f"preview-{lot}", drawn.pdf)


@require_http_methods(["GET", "POST"])
@allow(PACKERS)
def print_form(request: Request, code: str) -> HttpResponse:
    return _printing(request, code, PrintKind.LABEL)


@require_http_methods(["GET", "POST"])
@allow(PACKERS)
def print_sticker(request: Request, code: str) -> HttpResponse:
    """Stickers with the new ingredient list, once an owner decided to relabel."""
    return _printing(request, code, PrintKind.STICKER)


def _printing(request: Request, code: str, kind: PrintKind) -> HttpResponse:
    """Ask how many; once the log has noted them, the label's page gives out the PDF."""
    lot = lot_or_404(code)
    market = market_asked(request.GET.get("market"))
    try:
        standing = label_status(lot, market)
    except ActionRefused as error:
        return no_label(request, lot, error)
    before = lot.prints.filter(kind=kind, market=standing.label.market)
    printed_before = before.aggregate(all=Sum("count"))["all"] or 0
    form = PrintForm(
        request.POST or None,
        initial=_usual(request, standing.label),
        printed_before=printed_before,
    )
    if form.is_valid():
        with refusals_on(form):
            printed = services.print_labels(
                lot, **form.order(), by=request.user, at=timezone.now(), market=market, kind=kind
            )
            messages.success(request, _said(printed))
            return redirect(_label_page(printed))
    context = {
        "lot": lot,
        "standing": standing,
        "label": standing.label,
        "form": form,
        "kind": kind,
        "last": before.select_related("by").first(),
        "printed_before": printed_before,
    }
    return shown(request, "labels/print.html", context)


def _said(printed: Print) -> SafeString:
    """What the log noted, with the way to the paper."""
    word = "sticker" if printed.kind == PrintKind.STICKER else "label"
    return format_html(
        "{} {}{} of lot {} {} in the log. "
        '<a href="{}" target="_blank" rel="noopener">Open the PDF</a> and print it at 100 %, '
        "not “fit to page”. The log below opens it again.",
        printed.count,
        word,
        pluralize(printed.count),
        printed.lot.shown_code,
        pluralize(printed.count, "is,are"),
        reverse("labels:printed", args=[printed.pk]),
    )


def _label_page(printed: Print) -> str:
    """The label on what was printed; stickers tell nothing of the size that it has."""
    chosen = {"market": printed.market}
    if printed.kind == PrintKind.LABEL:
        chosen["layout"] = printed.layout
    return f"{reverse('labels:label', args=[printed.lot.code])}?{urlencode(chosen)}"


def _usual(request: Request, written: Label) -> dict[str, Any]:
    """As many labels as units were packed, on what this product was printed on last."""
    layout = LayoutForm(request.GET).chosen(written)
    units = int(queries.account(written.run).units)
    return {"layout": layout.key, "count": min(units, MOST_LABELS) or 1}
