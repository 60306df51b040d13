"""Two looks at stock: for how many weeks each product lasts, and what will expire unused."""

from decimal import Decimal
from fractions import Fraction

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from workshop.core.access import EVERYONE, Request, allow
from workshop.core.formatting import number
from workshop.core.models import Role
from workshop.core.paper.pdf import pdf, pdf_response
from workshop.planning.buying.needs import needs
from workshop.planning.stock.bars import SHORT_WEEKS, Covered, cover_picture, expiry_picture
from workshop.planning.stock.expiry import leftovers
from workshop.planning.stock.outlooks import outlooks
from workshop.planning.week_and_stock_pictures import PAGE, PAPER
from workshop.rules.planning.shortage import short_on
from workshop.rules.quantities.units import round_to

NAMED = 3


@require_GET
@allow(EVERYONE)
def cover(request: Request) -> HttpResponse:
    """Each product with its stock, orders and weeks of cover, the shortest first."""
    rows = _by_cover()
    context = {"rows": rows, "picture": cover_picture(rows, PAGE), "short": SHORT_WEEKS}
    return render(request, "planning/cover.html", context)


@require_GET
@allow(EVERYONE)
def cover_paper(request: Request) -> HttpResponse:
    rows = _by_cover()
    context = {"rows": rows, "picture": cover_picture(rows, PAPER), "made": timezone.now()}
    return pdf_response("cover", pdf("planning/print/cover.html", context))


def _by_cover() -> list[Covered]:
    found = [(one, one.cover) for one in outlooks(on=timezone.localdate())]
    found.sort(key=lambda row: (row[1] is None, row[1] or 0, row[0].product.item.name))
    return [(one, weeks, _weeks(weeks)) for one, weeks in found]


def _weeks(weeks: Fraction | None) -> str:
    if weeks is None:
        return "over half a year"
    said = number(round_to(weeks, Decimal("0.1")))
    return f"{said} {'week' if said == '1' else 'weeks'}"


@require_GET
@allow(EVERYONE)
def expiry(request: Request) -> HttpResponse:
    """Lots against their date: what will be left over at the present pace."""
    rows = leftovers(today=timezone.localdate())
    context = {"rows": rows, "picture": expiry_picture(rows, PAGE)}
    return render(request, "planning/expiry.html", context)


@require_GET
@allow(EVERYONE)
def expiry_paper(request: Request) -> HttpResponse:
    rows = leftovers(today=timezone.localdate())
    context = {"rows": rows, "picture": expiry_picture(rows, PAPER), "made": timezone.now()}
    return pdf_response("expiry", pdf("planning/print/expiry.html", context))


@require_GET
@allow(EVERYONE)
def short(request: Request) -> HttpResponse:
    """What falls short within the week and, for an owner, what to order: a part of Today."""
    today = timezone.localdate()
    lacking = [one for one in outlooks(on=today) if short_on(one.outlook, 7) is not None]
    due = []
    if request.user.role == Role.OWNER:
        due = [need for need in needs(today=today) if need.is_due]
    context = {
        "lacking": lacking,
        "named": ", ".join(one.product.item.name for one in lacking[:NAMED]),
        "more": max(len(lacking) - NAMED, 0),
        "due": due,
        "late": sum(need.days_late > 0 for need in due),
        "first": min((need.order_by for need in due if need.order_by), default=None),
    }
    return render(request, "planning/_short.html", context)
