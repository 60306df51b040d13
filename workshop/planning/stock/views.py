"""Two looks at stock: for how many weeks each product lasts, and what will expire unused."""

from decimal import Decimal
from fractions import Fraction

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from workshop.core.access import EVERYONE, Request, allow
from workshop.core.formatting import number, with_unit
from workshop.core.models import Role
from workshop.core.paper.pdf import pdf, pdf_response
from workshop.planning.buying.needs import needs
from workshop.planning.pictures import PAGE, PAPER, Bar, Colours, draw_bars
from workshop.planning.stock.expiry import Leftover, leftovers
from workshop.planning.stock.outlooks import Looked, outlooks
from workshop.rules.planning.shortage import short_on
from workshop.rules.quantities.units import round_to

COVER_WEEKS = 12
SHORT = 2  # weeks
MOST_BARS = 30
NAMED = 3
DAYS_SHOWN = 730
COVER_WORDS = "For how many weeks each product lasts; the table says the same."
EXPIRY_WORDS = "What will expire unused at the present pace; the table says the same."
Covered = tuple[Looked, Fraction | None, str]


@require_GET
@allow(EVERYONE)
def cover(request: Request) -> HttpResponse:
    """Each product with its stock, orders and weeks of cover, the shortest first."""
    rows = _by_cover()
    context = {"rows": rows, "picture": _cover_picture(rows, PAGE), "short": SHORT}
    return render(request, "planning/cover.html", context)


@require_GET
@allow(EVERYONE)
def cover_paper(request: Request) -> HttpResponse:
    rows = _by_cover()
    context = {"rows": rows, "picture": _cover_picture(rows, PAPER), "made": timezone.now()}
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


def _cover_picture(rows: list[Covered], colours: Colours) -> str:
    shown = [
        Bar(
            one.product.item.name,
            float(min(weeks, Fraction(COVER_WEEKS)) if weeks is not None else COVER_WEEKS)
            / COVER_WEEKS,
            words,
            is_short=weeks is not None and weeks < SHORT,
        )
        for one, weeks, words in rows[:MOST_BARS]
    ]
    return draw_bars(shown, _ticks(COVER_WEEKS, 2, "weeks"), COVER_WORDS, colours)


def _ticks(most: int, step: int, unit: str) -> list[tuple[float, str]]:
    """Figures over a rule; the last one names the unit."""
    words = [(n, f"{n} {unit}" if n == most else str(n)) for n in range(0, most + 1, step)]
    return [(n / most, word) for n, word in words]


@require_GET
@allow(EVERYONE)
def expiry(request: Request) -> HttpResponse:
    """Lots against their date: what will be left over at the present pace."""
    rows = leftovers(today=timezone.localdate())
    context = {"rows": rows, "picture": _expiry_picture(rows, PAGE)}
    return render(request, "planning/expiry.html", context)


@require_GET
@allow(EVERYONE)
def expiry_paper(request: Request) -> HttpResponse:
    rows = leftovers(today=timezone.localdate())
    context = {"rows": rows, "picture": _expiry_picture(rows, PAPER), "made": timezone.now()}
    return pdf_response("expiry", pdf("planning/print/expiry.html", context))


def _expiry_picture(rows: list[Leftover], colours: Colours) -> str:
    """A bar reaches to the date; hatched is the time after which nothing of it would be needed."""
    shown = [
        Bar(
            f"{row.lot.item}, {row.lot}",
            row.days_left / DAYS_SHOWN,
            f"{with_unit(row.left_over, row.lot.item.unit)} left over",
            mark=row.used_share * row.days_left / DAYS_SHOWN,
        )
        for row in rows[:MOST_BARS]
    ]
    return draw_bars(shown, _ticks(24, 6, "months"), EXPIRY_WORDS, colours)


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
