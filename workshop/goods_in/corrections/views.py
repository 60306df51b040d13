"""Pages that take a receipt or a lot of it back, or correct what was written down."""

from functools import partial

from django.http import HttpResponse
from django.views.decorators.http import require_http_methods

from workshop.core import formatting
from workshop.core.access import OWNER, Request, allow
from workshop.goods_in.corrections.forms import CorrectLineForm, CorrectReceiptForm
from workshop.goods_in.models import Receipt, ReceiptLine
from workshop.goods_in.services import corrections
from workshop.goods_in.views import line_or_404, receipt_or_404
from workshop.ledger.amendments.forms import TakeBackForm
from workshop.ledger.amendments.views import amend_page
from workshop.ledger.services import obstacle

BOTH_STAY = (
    "The record keeps what it said before, with your reason, and is sealed again. Nothing of it can"
    " be used any more; then receive the delivery again as it really was."
)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def take_back_receipt(request: Request, reference: str) -> HttpResponse:
    """Every lot of the receipt that was not taken back yet."""
    found = receipt_or_404(reference)
    # All of them, so that a second press sends the same again.
    lines = list(found.lines.with_lots())
    return _take_back(request, found, lines, f"Take receipt {found} back")


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def take_back_line(request: Request, code: str) -> HttpResponse:
    line = line_or_404(code)
    heading = f"Take lot {line.lot} of receipt {line.receipt} back"
    return _take_back(request, line.receipt, [line], heading)


def _take_back(
    request: Request, receipt: Receipt, lines: list[ReceiptLine], heading: str
) -> HttpResponse:
    amounts = ", ".join(
        f"{formatting.with_unit(line.posting.quantity, line.lot.item.unit)} of {line.lot.item}"
        f" as lot {line.lot}"
        for line in lines
        if line.taken_back is None
    )
    return amend_page(
        request,
        TakeBackForm(request.POST or None),
        partial(corrections.take_back, receipt, lines),
        heading=heading,
        lead=f"It says that {amounts} came in. {BOTH_STAY}"
        if amounts
        else "All of it was taken back before.",
        said=f"Taken back: {amounts or 'all of it'}. It counts for nothing now.",
        back=("goods_in:receipt", receipt.operation.reference),
        in_the_way=obstacle([line.lot for line in lines], of=receipt.operation),
    )


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def correct_receipt(request: Request, reference: str) -> HttpResponse:
    found = receipt_or_404(reference)
    return amend_page(
        request,
        CorrectReceiptForm(request.POST or None, receipt=found),
        partial(corrections.correct_receipt, found),
        heading=f"Correct receipt {found}",
        lead="What it said before stays in the record. A wrong supplier or quantity is taken back "
        "instead, and received again.",
        said=f"Receipt {found} is corrected and sealed again.",
        back=("goods_in:receipt", reference),
    )


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def correct_line(request: Request, code: str) -> HttpResponse:
    line = line_or_404(code)
    return amend_page(
        request,
        CorrectLineForm(request.POST or None, line=line),
        partial(corrections.correct_line, line),
        heading=f"Correct lot {line.lot}, {line.lot.item}",
        lead="What it said before stays in the record. A wrong item or quantity is taken back "
        "instead, and received again.",
        said=f"Lot {line.lot} is corrected and receipt {line.receipt} is sealed again.",
        back=("goods_in:receipt", line.receipt.operation.reference),
    )
