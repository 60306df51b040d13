"""What to buy: the list with its order-by days, orders written from it, and each item's weeks."""

import csv
from collections import defaultdict
from datetime import date, timedelta
from decimal import Decimal
from io import StringIO
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.db.models import Count
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from workshop.core import formatting
from workshop.core.access import EVERYONE, OWNER, Request, allow
from workshop.core.errors import ActionRefused
from workshop.core.files.downloads import CSV, download
from workshop.core.files.spreadsheets import safe_text
from workshop.core.forms import read_decimal, refusals_on, refuse
from workshop.core.models import Workshop
from workshop.core.paper.pdf import pdf, pdf_response
from workshop.costs.services import workshop_currency
from workshop.goods_in.models import Supplier
from workshop.goods_in.named_items import KnownGoods
from workshop.ledger.models import Item, ItemKind, Unit
from workshop.planning import services
from workshop.planning.buying.needs import Need, needs
from workshop.planning.buying.sizes_shown import sizes_shown
from workshop.planning.current_terms import hours_now, terms_by_item
from workshop.planning.forms import HoursForm, PurchaseHeadForm, ReasonForm, TermsForm
from workshop.planning.lists import PURCHASES
from workshop.planning.models import PurchaseOrder, Terms
from workshop.planning.orders.open_orders import OnOrder, purchase_lines
from workshop.planning.week.times import times_of

USUAL_LEAD = 7


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def buy(request: Request) -> HttpResponse:
    """What is short of materials and packaging; ticked lines become one order a supplier."""
    today = timezone.localdate()
    found = needs(today=today)
    form = PurchaseHeadForm(request.POST or None)
    if form.is_valid():
        try:
            orders = _write(request, form, found)
        except ActionRefused as error:
            refuse(form, error)
        else:
            names = ", ".join(f"{order} to {order.supplier}" for order in orders)
            messages.success(request, f"Written: {names}.")
            if len(orders) == 1:
                return redirect("planning:purchase", orders[0].number)
            return redirect("planning:purchases")
    rows = [(need, request.POST.get(f"amount-{need.item.pk}")) for need in found if need.next_lot]
    context = {
        "form": form,
        "due": [row for row in rows if row[0].is_due],
        "later": [row for row in rows if not row[0].is_due],
        "late": sum(need.days_late > 0 for need in found),
        "sooner": [need for need in found if need.too_late],
        "overdue": [one for one in purchase_lines() if _is_overdue(one, today)],
        "suppliers": Supplier.objects.active(),
        "typed": request.POST,
    }
    return render(request, "planning/buy.html", context)


def _is_overdue(one: OnOrder, today: date) -> bool:
    return one.open_quantity > 0 and one.line.order.expected_on < today


def _write(request: Request, form: PurchaseHeadForm, found: list[Need]) -> list[PurchaseOrder]:
    """One order for each supplier of what was ticked, all or none."""
    today = timezone.localdate()
    by_supplier: dict[int, dict[Item, Decimal]] = defaultdict(dict)
    leads: dict[int, int] = defaultdict(int)
    known = {supplier.pk: supplier for supplier in Supplier.objects.active()}
    for need in found:
        if f"order-{need.item.pk}" not in request.POST:
            continue
        supplier = _supplier(request, need, known)
        by_supplier[supplier.pk][need.item] = _amount(request, need)
        leads[supplier.pk] = max(leads[supplier.pk], need.lead_days)
    if not by_supplier:
        raise ActionRefused("Tick what is to be ordered.")
    facts = [
        services.PurchaseFacts(
            known[pk], today, today + timedelta(days=leads[pk]), amounts, form.cleaned_data["note"]
        )
        for pk, amounts in sorted(by_supplier.items())
    ]
    return services.write_purchases(
        facts, by=request.user, at=timezone.now(), token=form.cleaned_data["token"]
    )


def _supplier(request: Request, need: Need, known: dict[int, Supplier]) -> Supplier:
    chosen = request.POST.get(f"supplier-{need.item.pk}", "")
    if chosen.isdecimal() and len(chosen) < 12 and int(chosen) in known:
        return known[int(chosen)]
    if need.terms and need.terms.supplier_id in known and not chosen:
        return known[need.terms.supplier_id]
    raise ActionRefused(f"Choose the supplier: {need.item} is ordered.")


def _amount(request: Request, need: Need) -> Decimal:
    text = request.POST.get(f"amount-{need.item.pk}", "").strip()
    try:
        amount = read_decimal(text) if text else need.amount
    except ValueError as error:
        raise ActionRefused(f"{need.item}: {error}") from error
    places = 3 if need.item.unit == "g" else 0
    if amount != round(amount, places):
        raise ActionRefused(f"{need.item}: give at most {places} decimal places.")
    return amount


@require_GET
@allow(EVERYONE)
def purchases(request: Request) -> HttpResponse:
    rows = PurchaseOrder.objects.select_related("supplier", "stopped").annotate(
        lines_count=Count("lines")
    )
    waiting: dict[int, int] = defaultdict(int)
    for line in purchase_lines():
        if line.open_quantity > 0:
            waiting[line.line.order_id] += 1
    context = {"waiting": len(waiting)}
    return PURCHASES.read(request, rows).answer("planning/purchases.html", context)


def _purchase_or_404(reference: str) -> PurchaseOrder:
    rows = PurchaseOrder.objects.select_related("supplier", "by", "stopped__by")
    return get_object_or_404(rows, number=reference)


def _lines(order: PurchaseOrder) -> list[OnOrder]:
    """The order's lines with what is still to come; of an ended one nothing is."""
    found = {one.line.pk: one for one in purchase_lines() if one.line.order_id == order.pk}
    return [
        found.get(line.pk, OnOrder(line, Decimal(0)))
        for line in order.lines.select_related("item", "order")
    ]


@require_http_methods(["GET", "POST"])
@allow(EVERYONE, write=OWNER)
def purchase(request: Request, reference: str) -> HttpResponse:
    """One order to a supplier: what came, what is to come, the order to send, its end."""
    order = _purchase_or_404(reference)
    form = ReasonForm(request.POST or None)
    if form.is_valid():
        with refusals_on(form):
            services.stop_purchase(order, **form.cleaned_data, by=request.user, at=timezone.now())
            messages.success(request, f"Nothing more comes of {order}.")
            return redirect("planning:purchase", order.number)
    lines = _lines(order)
    context = {
        "order": order,
        "lines": lines,
        "is_open": any(line.open_quantity > 0 for line in lines),
        "today": timezone.localdate(),
        "letter": letter(order, lines),
        "form": form,
        "receipt": f"{reverse('goods_in:new-receipt')}?{_receipt_query(order, lines)}",
    }
    return render(request, "planning/purchase.html", context)


def _receipt_query(order: PurchaseOrder, lines: list[OnOrder]) -> str:
    """What the receipt page begins with: the supplier, each item and what is to come of it."""
    goods = KnownGoods.now(with_usual=False)
    coming = [one for one in lines if one.open_quantity > 0]
    asked = [("supplier", str(order.supplier_id)), ("lines-TOTAL_FORMS", str(len(coming)))]
    for row, one in enumerate(coming):
        unit = " g" if one.line.item.unit == Unit.GRAM else ""
        asked.append((f"lines-{row}-item", goods.name_of(one.line.item)))
        quantity = f"{one.open_quantity.normalize():f}{unit}"
        asked.append((f"lines-{row}-quantity_as_written", quantity))
    return urlencode(asked)


def letter(order: PurchaseOrder, lines: list[OnOrder]) -> str:
    """The order as text to send."""
    workshop = Workshop.objects.first()
    rows = [
        f"- {formatting.with_unit(one.line.quantity, one.line.item.unit)} {one.line.item}"
        for one in lines
    ]
    head = f"Order {order.number} of {formatting.day(order.ordered_on)}"
    return "\n".join(
        [
            head,
            "",
            f"To {order.supplier.name}",
            "",
            "Please send us:",
            *rows,
            "",
            f"We expect it by {formatting.day(order.expected_on)}.",
            "Please name the order, your lot numbers and expiry dates on the delivery note.",
            *([order.note] if order.note else []),
            "",
            *([workshop.name, workshop.address] if workshop else []),
        ]
    ).strip()


@require_GET
@allow(EVERYONE)
def purchase_paper(request: Request, reference: str) -> HttpResponse:
    order = _purchase_or_404(reference)
    context = {"order": order, "lines": _lines(order), "workshop": Workshop.objects.first()}
    return pdf_response(f"order-{order.number}", pdf("planning/print/purchase.html", context))


@require_GET
@allow(EVERYONE)
def purchase_csv(request: Request, reference: str) -> HttpResponse:
    order = _purchase_or_404(reference)
    out = StringIO()
    writer = csv.writer(out)
    writer.writerow(["Order", "Ordered on", "Expected on", "Code", "What", "Quantity", "Unit"])
    for line in order.lines.select_related("item"):
        days = (order.ordered_on.isoformat(), order.expected_on.isoformat())
        what = (safe_text(line.item.code), safe_text(line.item.name))
        writer.writerow(
            [order.number, *days, *what, f"{line.quantity.normalize():f}", line.item.unit]
        )
    return download(f"order-{order.number}.csv", out.getvalue(), CSV)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def item(request: Request, code: str) -> HttpResponse:
    """How an item is stocked and bought, and its weeks: wanted, to come, there, to order."""
    found = get_object_or_404(Item.objects.select_related("profile"), code=code)
    now = terms_by_item([found.pk]).get(found.pk)
    currency = workshop_currency() or ""
    form = TermsForm(request.POST or None, item=found, now=now, currency=currency)
    if form.is_valid():
        with refusals_on(form):
            token = form.cleaned_data["token"]
            services.keep_terms(found, form.facts, by=request.user, at=timezone.now(), token=token)
            messages.success(request, f"How {found} is stocked is saved.")
            return redirect("planning:item", code)
    need = next((one for one in needs(today=timezone.localdate()) if one.item == found), None)
    context = {
        "item": found,
        "form": form,
        "need": need,
        "weeks": _weeks(need),
        "kept": Terms.objects.filter(item=found)
        .select_related("by", "supplier")
        .order_by("-pk")[:5],
        "is_bought": found.kind in (ItemKind.MATERIAL, ItemKind.PACKAGING),
        "currency": currency,
        "sizes": sizes_shown(need, currency) if need and currency else None,
    }
    return render(request, "planning/item.html", context)


def _weeks(need: Need | None) -> list[dict[str, Any]]:
    """The weeks ahead as a table; the first thirteen."""
    if need is None or need.plan is None:
        return []
    ordered = {lot.needed_on: lot.amount for lot in need.lots}
    rows = []
    stock = need.on_hand
    for number, week in enumerate(need.plan.weeks[:13]):
        first = need.today + timedelta(weeks=number)
        stock += need.arriving(number) + ordered.get(first, 0) - week.gross
        rows.append(
            {
                "first": first,
                "gross": _shown(week.gross),
                "coming": _shown(need.arriving(number)),
                "order": _shown(ordered[first]) if first in ordered else None,
                "order_by": first - timedelta(days=need.lead_days) if first in ordered else None,
                "left": _shown(stock),
            }
        )
    return rows


def _shown(amount: Any) -> Decimal:
    return Decimal(round(amount))


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def hours(request: Request) -> HttpResponse:
    """Hours and capacity."""
    form = HoursForm(request.POST or None, now=hours_now())
    if form.is_valid():
        with refusals_on(form):
            token = form.cleaned_data["token"]
            services.keep_hours(form.facts, by=request.user, at=timezone.now(), token=token)
            messages.success(request, "The hours of the week are saved.")
            return redirect("planning:home")
    context = {"form": form, "times": times_of(hours_now())}
    return render(request, "planning/hours.html", context)
