"""Goods-in: what waits, a new receipt, one receipt, a decision on a lot, lot tags."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from workshop.core import formatting
from workshop.core.access import EVERYONE, OWNER, WORKERS, Request, allow
from workshop.core.errors import ActionRefused
from workshop.core.forms import (
    refusals_on,
    refuse,
)
from workshop.core.models import Role
from workshop.core.paper.pdf import pdf_response
from workshop.core.web.pagination import PER_PAGE
from workshop.goods_in import lot_tags, services
from workshop.goods_in.delivery_checks import RefusedLines, papers_missing
from workshop.goods_in.forms import (
    BaseLines,
    LotDecisionForm,
    Offer,
    ReceiptForm,
    RepeatForm,
    lines_of,
    typed_rows,
)
from workshop.goods_in.last_delivery import head_like, latest_of_each_supplier, rows_like
from workshop.goods_in.lists import RECEIPTS
from workshop.goods_in.models import Certificate, Receipt, ReceiptLine
from workshop.goods_in.organic.forms import PapersForm
from workshop.ledger.amendments.views import corrections_of
from workshop.ledger.models import Lot, Status
from workshop.ledger.stock_life import soonest_to_expire
from workshop.rules.codes.lot_codes import normalise_code

SOONEST = 6  # lots that expire soonest, on the first page


@require_GET
@allow(EVERYONE)
def home(request: Request) -> HttpResponse:
    """The lots that wait for a decision, oldest first, and the latest receipts."""
    today = timezone.localdate()
    undecided = ReceiptLine.objects.filter(lot__status__in=[Status.QUARANTINE, Status.ON_HOLD])
    receipts = Receipt.objects.with_counts().select_related("operation", "supplier")
    context = {
        "undecided": undecided.with_lots()[:PER_PAGE],
        "undecided_count": undecided.count(),
        "lapsing": Certificate.objects.in_state("renewal due", today).count(),
        "today": today,
        "expiring": soonest_to_expire(today, SOONEST),
    }
    return RECEIPTS.read(request, receipts).answer("goods_in/home.html", context)


@require_http_methods(["GET", "POST"])
@allow(WORKERS)
def new_receipt(request: Request) -> HttpResponse:
    """A delivery with any number of lots; "another" and "again" only show the page once more."""
    offer = offer_for(request)
    if request.method == "GET":
        return _begin_receipt(request, offer)
    if "another" in request.POST or "again" in request.POST:
        form = ReceiptForm(initial=request.POST.dict(), offer=offer)
        return _show_receipt_form(request, form, lines_of(offer, typed=typed_rows(request.POST)))
    form, lines = (
        ReceiptForm(request.POST, offer=offer),
        lines_of(offer, request.POST, request.FILES),
    )
    repeat, papers = RepeatForm(request.POST), PapersForm(request.POST)
    if form.is_valid() & lines.is_valid() & repeat.is_valid() & papers.is_valid():
        try:
            receipt = services.receive_named(
                named=lines.lots(form.cleaned_data),
                **form.head,
                **repeat.cleaned_data,
                papers=papers.papers(),
                by=request.user,
                at=timezone.now(),
            )
        except RefusedLines as error:
            lines.refuse(error, form)
        except ActionRefused as error:
            refuse(papers if error.field in papers.fields else form, error)
        else:
            messages.success(request, _say_receipt(receipt))
            return redirect("goods_in:receipt", receipt.operation.reference)
    return _show_receipt_form(request, form, lines, repeat, papers)


def offer_for(request: Request) -> Offer:
    """What a receipt may name and choose; an owner may name usual materials too."""
    return Offer.on(timezone.localdate(), with_usual=request.user.role == Role.OWNER)


def _begin_receipt(request: Request, offer: Offer) -> HttpResponse:
    """An empty page, or one like an earlier delivery, or one of a supplier.

    An address may hold the rows that the page begins with, under the names of their fields.
    """
    if not (like := request.GET.get("like", "")):
        of = request.GET.get("supplier")
        form = ReceiptForm(initial={"supplier": of} if of else None, offer=offer)
        return _show_receipt_form(request, form, lines_of(offer, typed=typed_rows(request.GET)))
    earlier = receipt_or_404(like)
    form = ReceiptForm(initial=head_like(earlier, timezone.localdate()), offer=offer)
    lines = lines_of(offer, typed=rows_like(earlier, offer.goods))
    return _show_receipt_form(request, form, lines, like=earlier)


def _show_receipt_form(
    request: Request,
    form: ReceiptForm,
    lines: BaseLines,
    repeat: RepeatForm | None = None,
    papers: PapersForm | None = None,
    like: Receipt | None = None,
) -> HttpResponse:
    asked = lines.asks_about_repeats or "repeats_agreed" in request.POST
    context = {
        "form": form,
        "lines": lines,
        "known": lines.offer.goods.names,
        "like": like,
        "earlier": [] if request.method == "POST" or like else latest_of_each_supplier(),
        "repeat": (repeat or RepeatForm(request.POST)) if asked else None,
        "papers": papers or PapersForm(initial=_typed_papers(request)),
        "files_lost": bool(request.FILES),
        "not_recorded": lines.is_bound,
    }
    return render(request, "goods_in/new_receipt.html", context)


def _typed_papers(request: Request) -> dict[str, Any]:
    """What was typed about the papers, where the page is only shown again."""
    return {**request.POST.dict(), "practices": request.POST.getlist("practices")}


def _say_receipt(receipt: Receipt) -> str:
    lines = receipt.lines.with_lots()
    lots = [
        f"{line.lot.item} {formatting.with_unit(line.posting.quantity, line.lot.item.unit)}"
        f" as lot {line.lot}"
        for line in lines[:6]
    ]
    more = f" and {len(lines) - len(lots)} more" if len(lines) > len(lots) else ""
    return (
        f"{receipt}: received on {formatting.day(receipt.received_on)} from {receipt.supplier}:"
        f" {', '.join(lots)}{more}. They wait in quarantine."
    )


@require_GET
@allow(EVERYONE)
def receipt(request: Request, reference: str) -> HttpResponse:
    found = receipt_or_404(reference)
    sound = found.lines.waiting_and_sound(timezone.localdate()).count()
    lines = list(found.lines.with_lots())
    context = {
        "receipt": found,
        "lines": lines,
        "sound_count": sound,
        "corrections": corrections_of(found.operation),
        "papers": getattr(found, "papers", None),
        "not_looked_at": papers_missing(found, lines),
        "is_taken_back": all(line.taken_back for line in lines),
    }
    return render(request, "goods_in/receipt.html", context)


def receipt_or_404(reference: str) -> Receipt:
    receipts = Receipt.objects.select_related("operation__opened_by", "supplier", "papers")
    return get_object_or_404(receipts, operation__reference=reference)


@require_POST
@allow(OWNER)
def release_receipt(request: Request, reference: str) -> HttpResponse:
    """Release every lot of the receipt that was found good."""
    found = receipt_or_404(reference)
    try:
        lots = services.release_sound_lots(found, by=request.user, at=timezone.now())
    except ActionRefused as error:
        messages.error(request, error.message)
    else:
        codes = ", ".join(map(str, lots))
        messages.success(request, f"Released: {codes}." if lots else "No lot waits in quarantine.")
    return redirect("goods_in:receipt", reference)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def release(request: Request, code: str) -> HttpResponse:
    return _decide(request, code, services.release_lot, "Release")


@require_http_methods(["GET", "POST"])
@allow(WORKERS)
def hold(request: Request, code: str) -> HttpResponse:
    return _decide(request, code, services.hold_lot, "Hold")


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def reject(request: Request, code: str) -> HttpResponse:
    return _decide(request, code, services.reject_lot, "Reject")


def _decide(request: Request, code: str, act: Any, word: str) -> HttpResponse:
    """Ask why, do it, and go back to the receipt."""
    line = line_or_404(code)
    form = LotDecisionForm(request.POST or None, button=f"{word} lot {line.lot}")
    if form.is_valid():
        with refusals_on(form):
            lot: Lot = act(line.lot, **form.cleaned_data, by=request.user, at=timezone.now())
            said = f"Lot {lot} of {lot.item} is {lot.get_status_display()} now."
            messages.success(request, said)
            return redirect("goods_in:receipt", line.receipt.operation.reference)
    return render(request, "goods_in/decide.html", {"line": line, "form": form, "word": word})


def line_or_404(code: str) -> ReceiptLine:
    lines = ReceiptLine.objects.with_lots()
    return get_object_or_404(lines, lot__code=normalise_code(code))


@require_GET
@allow(EVERYONE)
def lot_tag(request: Request, code: str) -> HttpResponse:
    line = line_or_404(code)
    made = lot_tags.label_pdf([line], on=timezone.localdate())
    return pdf_response(f"tag-{line.lot}", made)


@require_GET
@allow(EVERYONE)
def receipt_tags(request: Request, reference: str, paper: str) -> HttpResponse:
    """Every tag of a receipt: one a page for a label printer, or on sheets."""
    found = receipt_or_404(reference)
    lay_out = lot_tags.label_pdf if paper == "labels" else lot_tags.sheet_pdf
    made = lay_out(list(found.lines.effective().with_lots()), on=timezone.localdate())
    return pdf_response(f"tags-{found}", made)
