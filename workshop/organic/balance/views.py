"""Pages: the overview of balances, the balance of one item, the postings behind a figure."""

from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from workshop.core.access import EVERYONE, Request, allow
from workshop.core.files.downloads import XLSX, download
from workshop.core.models import Workshop
from workshop.core.paper.pdf import pdf, pdf_response
from workshop.ledger.lists import postings_list
from workshop.ledger.models import Item
from workshop.organic.balance.export import (
    as_csv,
    overview_rows,
    overview_workbook,
    statement_rows,
    workbook,
)
from workshop.organic.balance.forms import BalanceForm, OverviewForm, SchemeForm
from workshop.organic.balance.needed import needed
from workshop.organic.balance.overview import GROUPS, chain, in_grams, overview
from workshop.organic.balance.query import Period, postings_behind
from workshop.organic.balance.statement import ORDER, Statement, statement, tolerance_of_scheme

CSV = "text/csv; charset=utf-8; header=absent"


@require_GET
@allow(EVERYONE)
def home(request: Request) -> HttpResponse:
    """The balance of every item of a group over a period."""
    form = OverviewForm(request.GET)
    context: dict[str, Any] = {"form": form, "tolerance": tolerance_of_scheme()}
    if form.is_valid():
        group = form.group_asked
        rows = overview(form.period, group, as_known_today=form.as_known_today)
        lots = "&lots=organic" if group == "organic" else ""
        context |= {"rows": rows, "group": GROUPS[group], "period": form.period, "lots": lots}
        context |= {"grams": in_grams(rows)}
    return render(request, "organic/home.html", context)


@require_GET
@allow(EVERYONE)
def overview_file(request: Request, kind: str) -> HttpResponse:
    form = OverviewForm(request.GET)
    if kind not in ("csv", "xlsx") or not form.is_valid():
        raise Http404("No such file or period.")
    rows = overview(form.period, form.group_asked, as_known_today=form.as_known_today)
    rows += in_grams(rows)
    name = f"balances-{form.period.first}-{form.period.last}.{kind}"
    if kind == "csv":
        return download(name, as_csv(overview_rows(rows)), CSV)
    return download(name, overview_workbook(rows), XLSX)


@require_GET
@allow(EVERYONE)
def sold_and_bought(request: Request) -> HttpResponse:
    """What was sold as organic beside what was made and what was bought as organic."""
    form = SchemeForm(request.GET)
    context: dict[str, Any] = {"form": form}
    if form.is_valid():
        asked = {"scheme": form.scheme}
        context |= {"chain": chain(form.period, **asked), "needed": needed(form.period, **asked)}
    return render(request, "organic/chain.html", context)


@require_GET
@allow(EVERYONE)
def balance(request: Request, code: str) -> HttpResponse:
    """The balance of one item, as the sum on paper."""
    item = item_or_404(code)
    form = BalanceForm(request.GET)
    context: dict[str, Any] = {"item": item, "form": form}
    if form.is_valid():
        context |= {"one": statement(item, form.period, **form.asked), "query": form.query}
    return render(request, "organic/balance.html", context)


def item_or_404(code: str) -> Item:
    return get_object_or_404(Item.objects.select_related("product"), code=code)


def _asked(request: Request, code: str) -> Statement:
    form = BalanceForm(request.GET)
    if not form.is_valid():
        raise Http404("No such period.")
    return statement(item_or_404(code), form.period, **form.asked)


@require_GET
@allow(EVERYONE)
def balance_file(request: Request, code: str, kind: str) -> HttpResponse:
    """The same as a PDF, a spreadsheet or text."""
    if kind not in ("pdf", "csv", "xlsx"):
        raise Http404("No such file.")
    one = _asked(request, code)
    name = f"balance-{one.item.code}-{one.period.first}-{one.period.last}"
    if kind == "pdf":
        return pdf_response(name, statement_pdf(one, by=str(request.user)))
    if kind == "csv":
        return download(f"{name}.csv", as_csv(statement_rows(one)), CSV)
    return download(f"{name}.xlsx", workbook(one), XLSX)


def statement_pdf(one: Statement, *, by: str) -> bytes:
    context = {
        "statements": [one], "workshop": Workshop.objects.first(), "by": by, "at": timezone.now(),
    }  # fmt: skip
    return pdf("organic/print/balances.html", context)


@require_GET
@allow(EVERYONE)
def postings(request: Request, code: str, figure: str) -> HttpResponse:
    """Every posting that a figure is the sum of."""
    headings = {key: heading for key, _, heading in ORDER}
    item, form = item_or_404(code), BalanceForm(request.GET)
    if figure not in headings or not form.is_valid():
        raise Http404("No such figure.")
    period: Period = form.period
    rows = postings_behind(item.pk, figure, period, **form.asked)
    context = {
        "item": item,
        "heading": headings[figure],
        "period": period,
        "query": form.query,
    }
    return postings_list(item).read(request, rows).answer("organic/postings.html", context)
