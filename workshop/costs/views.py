"""Money: a period, what deliveries cost, what a batch and a unit cost, rates and prices."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from workshop.core import formatting
from workshop.core.access import OWNER, Request, allow
from workshop.core.files.downloads import XLSX, download
from workshop.core.forms import refusals_on
from workshop.costs import batch_and_run_costs, figures, over_time, services
from workshop.costs.forms import (
    ChargesForm,
    MinutesForm,
    PeriodForm,
    PriceForm,
    PriceOfProductForm,
    RatesForm,
)
from workshop.costs.lists import DELIVERIES, PRICED, deliveries
from workshop.costs.models import Invoice, PricedPer, Rates, SpreadBy, WorkTime
from workshop.costs.period import CLASSES, HEADS, Account, Period, account_of, statement_of
from workshop.costs.workbook import account_workbook
from workshop.goods_in.models import Receipt, ReceiptLine
from workshop.ledger.models import TRANSFORMING, Item, ItemKind, Operation
from workshop.rules.errors import RuleError
from workshop.rules.money.amounts import days_of_stock, rounded, stock_turn

LATEST = 60


@require_GET
@allow(OWNER)
def home(request: Request) -> HttpResponse:
    """A period in money, this month until today unless asked otherwise."""
    currency = services.workshop_currency()
    if currency is None:
        return redirect("costs:rates")
    form, period = _asked(request)
    account = account_of(period)
    *rows, closing = _rows(account, currency)
    context = {
        "form": form,
        "period": period,
        "currency": currency,
        "account": account,
        "heads": [HEADS[one] for one in CLASSES],
        "rows": rows,
        "closing": closing,
        "turn": _turn_told(account, period),
        "unpriced": deliveries().exclude(PRICED).count(),
    }
    return render(request, "costs/home.html", context)


@require_GET
@allow(OWNER)
def workbook(request: Request) -> HttpResponse:
    currency = services.workshop_currency()
    if currency is None:
        return redirect("costs:rates")
    _, period = _asked(request)
    content = account_workbook(account_of(period), period, currency)
    name = f"money-{period.first.isoformat()}-{period.last.isoformat()}.xlsx"
    return download(name, content, XLSX)


def _asked(request: Request) -> tuple[PeriodForm, Period]:
    today = timezone.localdate()
    usual = {"first": today.replace(day=1), "last": today}
    form = PeriodForm(request.GET if "first" in request.GET else usual)
    if form.is_valid():
        return form, Period(form.cleaned_data["first"], form.cleaned_data["last"])
    return form, Period(usual["first"], usual["last"])


def _rows(account: Account, currency: str) -> list[dict[str, Any]]:
    """The sum as on paper."""
    return [
        {
            "key": line.key,
            "word": line.word,
            "cells": [(HEADS[one], _cell(Fraction(line.cells[one]), currency)) for one in CLASSES],
            "all": _cell(Fraction(line.total), currency),
        }
        for line in statement_of(account, currency)
    ]


def _turn_told(account: Account, period: Period) -> str:
    """How fast finished goods go: what went out at cost, by the mean of the two ends."""
    kind = ItemKind.PRODUCT
    gone = -(account.moves["sent"][kind] + account.moves["returned"][kind])
    turns = stock_turn(gone, account.opening[kind], account.closing[kind])
    if not turns or turns < 0:
        return ""
    lasts = rounded(days_of_stock(turns, period.days), 0)
    return (
        f"Finished goods were turned over {formatting.number(rounded(turns, 2))} times in these "
        f"{period.days} days: at this pace the stock lasts {lasts} day{'' if lasts == 1 else 's'}."
    )


def _cell(value: Fraction, currency: str) -> str:
    return figures.amount(value, currency) if value else ""


@require_GET
@allow(OWNER)
def all_deliveries(request: Request) -> HttpResponse:
    return render(
        request, "costs/deliveries.html", {"list": DELIVERIES.read(request, deliveries())}
    )


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def invoice(request: Request, reference: str) -> HttpResponse:
    """What a delivery cost, line by line, with freight and duty."""
    currency = services.workshop_currency()
    if currency is None:
        messages.info(request, services.NO_RATES)
        return redirect("costs:rates")
    receipt = get_object_or_404(
        Receipt.objects.select_related("operation", "supplier"), operation__reference=reference
    )
    lines = list(receipt.lines.effective().select_related("lot__item", "posting"))
    before = receipt.invoices.prefetch_related("lines").select_related("by").last()
    data = request.POST or None
    form = ChargesForm(data, currency=currency, initial=_charges(before))
    rows = [PriceForm(data, line=line, initial=_price(before, line)) for line in lines]
    # Every row is looked at, so that each shows what is wrong in it.
    sound = [form.is_valid(), *(row.is_valid() for row in rows)]
    if request.POST and all(sound):
        values = form.cleaned_data
        token = values.pop("token")
        charges = services.Charges(**values | {"spread_by": SpreadBy(values["spread_by"])})
        prices = {row.line.pk: row.priced for row in rows}
        priced = {key: price for key, price in prices.items() if price is not None}
        with refusals_on(form):
            services.enter_invoice(
                receipt, charges, priced, by=request.user, at=timezone.now(), token=token
            )
            messages.success(request, f"The costs of {receipt} are saved.")
            return redirect("costs:deliveries")
    context = {
        "receipt": receipt,
        "form": form,
        "rows": rows,
        "before": before,
        "currency": currency,
    }
    return render(request, "costs/invoice.html", context)


def _charges(before: Invoice | None) -> dict[str, Any]:
    names = ("reference", "currency", "exchange_rate", "freight", "duty", "tax", "spread_by")
    return {name: getattr(before, name) for name in names} if before else {}


def _price(before: Invoice | None, line: ReceiptLine) -> dict[str, Any]:
    """What was entered last; before there was an invoice, what was noted as the goods came in."""
    if before is None:
        return {"price": line.cost, "per": PricedPer.LINE}
    found = next((one for one in before.lines.all() if one.line_id == line.pk), None)
    names = ("price", "per", "discount_percent")
    return {name: getattr(found, name) for name in names} if found else {}


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def made(request: Request, reference: str) -> HttpResponse:
    """What a batch or a packing run cost, and how long it took."""
    operation = get_object_or_404(Operation, reference=reference, kind__in=TRANSFORMING)
    currency = services.workshop_currency()
    if currency is None:
        messages.info(request, services.NO_RATES)
        return redirect("costs:rates")
    time = WorkTime.objects.filter(operation=operation).select_related("by").last()
    form = MinutesForm(request.POST or None, initial={"minutes": time.minutes} if time else {})
    if form.is_valid():
        with refusals_on(form):
            services.enter_minutes(
                operation,
                int(form.cleaned_data["minutes"]),
                by=request.user,
                at=timezone.now(),
                token=form.cleaned_data["token"],
            )
            messages.success(request, f"The minutes of {operation} are kept.")
            return redirect("costs:made", reference=reference)
    sheet = batch_and_run_costs.sheet_of(operation)
    context = {
        "operation": operation,
        "currency": currency,
        "form": form,
        "time": time,
        "rates": Rates.objects.on(timezone.localdate(operation.opened_at)),
        "taken": [_taken(row, currency) for row in sheet.taken],
        "made": [_taken(row, currency) for row in sheet.made],
        "added": figures.amount(sheet.added, currency),
        "written_off": _cell(sheet.written_off, currency),
        "total": figures.at_least(sheet.total) + figures.amount(sheet.total.amount, currency),
    }
    return render(request, "costs/made.html", context)


def _taken(row: batch_and_run_costs.Taken, currency: str) -> dict[str, Any]:
    return {
        "lot": row.lot,
        "quantity": row.quantity,
        "each": figures.unit_amount(row.cost, row.lot, currency),
        "value": figures.amount(row.value, currency),
        "is_whole": row.cost.is_whole,
    }


@require_GET
@allow(OWNER)
def products(request: Request) -> HttpResponse:
    """What a unit of each product cost last, and what is left of its price."""
    currency = services.workshop_currency()
    if currency is None:
        return redirect("costs:rates")
    rows = [
        {
            "item": row.item,
            "lot": row.lot,
            "cost": figures.unit_amount(row.cost, row.lot, currency)
            if row.cost and row.lot
            else "",
            "channel": row.channel,
            "price": None if row.price is None else figures.amount(Fraction(row.price), currency),
            "percent": None if row.percent is None else _percent(row.percent),
            "is_whole": row.cost is not None and row.cost.is_whole,
        }
        for row in batch_and_run_costs.margins(timezone.localdate())
    ]
    return render(request, "costs/products.html", {"rows": rows, "currency": currency})


def _percent(share: Fraction) -> Decimal:
    return round(Decimal(share.numerator) / Decimal(share.denominator), 1)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def item(request: Request, code: str) -> HttpResponse:
    """An item's lots with what a unit of each cost; a product's prices, a bought item's value."""
    found = get_object_or_404(Item, code=code)
    currency = services.workshop_currency()
    if currency is None:
        messages.info(request, services.NO_RATES)
        return redirect("costs:rates")
    is_product = found.kind == ItemKind.PRODUCT
    form = PriceOfProductForm(request.POST or None, day=timezone.localdate())
    if is_product and form.is_valid():
        with refusals_on(form):
            services.enter_price(found, **form.cleaned_data, by=request.user, at=timezone.now())
            messages.success(request, f"The price of {found} is kept.")
            return redirect("costs:item", code=code)
    lots = over_time.costs_of_lots(found, LATEST)
    context = {
        "item": found,
        "currency": currency,
        "form": form if is_product else None,
        "prices": found.sales_prices.select_related("by").order_by("-from_on", "-pk"),
        "picture": over_time.picture_of(lots, currency),
        "lots": [_lot_row(one, currency) for one in lots],
        "ways": _ways(found, currency),
    }
    return render(request, "costs/item.html", context)


def _lot_row(one: over_time.LotCost, currency: str) -> dict[str, Any]:
    return {
        "lot": one.lot,
        "each": figures.unit_amount(one.cost, one.lot, currency),
        "change": over_time.change_told(one, currency),
        "movers": over_time.movers_told(one, currency),
    }


def _ways(found: Item, currency: str) -> list[tuple[str, str, str]]:
    """What was taken and what is left, by each formula that IAS 2 permits; none below nought."""
    if found.kind not in (ItemKind.MATERIAL, ItemKind.PACKAGING):
        return []
    try:
        ways = batch_and_run_costs.three_ways(found)
    except RuleError:
        return []
    named = [
        ("specific lot", ways.by_lot),
        ("oldest first", ways.oldest_first),
        ("moving average", ways.average),
    ]
    return [
        (
            word,
            figures.amount(flow.taken, currency),
            figures.amount(flow.left, currency),
        )
        for word, flow in named
    ]


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def rates(request: Request) -> HttpResponse:
    """The currency, an hour's cost and overhead, as they held from day to day."""
    currency = services.workshop_currency()
    form = RatesForm(request.POST or None, currency=currency, day=timezone.localdate())
    if form.is_valid():
        with refusals_on(form):
            services.enter_rates(**form.cleaned_data, by=request.user, at=timezone.now())
            messages.success(request, "The rates are saved.")
            return redirect("costs:rates")
    context = {
        "form": form,
        "currency": currency,
        "kept": Rates.objects.select_related("by").order_by("-from_on", "-pk"),
    }
    return render(request, "costs/rates.html", context)
