"""Pages: a certificate suspended or revoked, a lot judged anew, a supplier reviewed."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from workshop.core.access import EVERYONE, OWNER, Request, allow
from workshop.core.forms import refusals_on
from workshop.goods_in import services
from workshop.goods_in.models import Certificate, ReceiptLine, Supplier
from workshop.goods_in.organic.forms import DecisionForm, ReviewForm, StopForm, answered
from workshop.ledger.models import Lot, Status
from workshop.rules.codes.lot_codes import normalise_code


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def stop_certificate(request: Request, pk: int) -> HttpResponse:
    """Record a suspension, a revocation or a reinstatement, and hold what came under it."""
    found = get_object_or_404(Certificate.objects.select_related("supplier"), pk=pk)
    came = Lot.objects.filter(receipt_line__certificate=found, receipt_line__taken_back=None)
    held = came.in_stock().exclude(status=Status.REJECTED).select_related("item")
    form = StopForm(request.POST or None, lots=held)
    if form.is_valid():
        with refusals_on(form):
            stop = services.stop_certificate(
                found, by=request.user, at=timezone.now(), **form.cleaned_data
            )
            told = f"{len(stop.held)} lots are on hold." if stop.held else "No lot is held for it."
            messages.success(request, f"{found} is {stop.kind}. {told}")
            return redirect("goods_in:certificate", found.pk)
    context = {"form": form, "heading": f"Certificate {found}: suspended or revoked"}
    return render(request, "goods_in/edit.html", context)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def decide_organic(request: Request, code: str) -> HttpResponse:
    """Say that a lot is organic, or is not, whatever it was received as."""
    line = get_object_or_404(ReceiptLine.objects.with_lots(), lot__code=normalise_code(code))
    covering = Certificate.objects.filter(
        supplier=line.receipt.supplier_id, items=line.lot.item_id
    ).valid_on(line.receipt.received_on)
    form = DecisionForm(request.POST or None, certificates=covering)
    if form.is_valid():
        with refusals_on(form):
            made = services.decide_organic(
                line.lot, by=request.user, at=timezone.now(), **form.cleaned_data
            )
            messages.success(request, f"Lot {made}.")
            return redirect("goods_in:receipt", line.receipt.operation.reference)
    return render(
        request, "goods_in/decide.html", {"line": line, "form": form, "word": "Organic status of"}
    )


@require_http_methods(["GET", "POST"])
@allow(EVERYONE, write=OWNER)
def review_supplier(request: Request, pk: int) -> HttpResponse:
    """The questionnaire as last answered and, for an owner, a new review."""
    found = get_object_or_404(Supplier, pk=pk)
    reviews = list(found.reviews.select_related("by", "document").order_by("-pk"))
    last = reviews[0] if reviews else None
    form = ReviewForm(request.POST or None, request.FILES or None, last=last)
    if form.is_valid():
        with refusals_on(form):
            made = services.review_supplier(
                found,
                form.values(),
                answers=form.answers(),
                document=form.cleaned_data["document"],
                token=form.cleaned_data["token"],
                by=request.user,
                at=timezone.now(),
            )
            messages.success(request, f"{made}.")
            return redirect("goods_in:review-supplier", found.pk)
    context = {
        "supplier": found,
        "reviews": reviews,
        "answers": answered(last),
        "form": form if request.user.role in OWNER else None,
        "files_lost": bool(request.FILES),
    }
    return render(request, "goods_in/review.html", context)
