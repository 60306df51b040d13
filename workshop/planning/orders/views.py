"""Customers' orders: the list of what is open, one by hand, many from a file."""

from typing import Any

from django import forms
from django.contrib import messages
from django.db.models import Count, QuerySet, Sum
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from workshop.core.access import EVERYONE, PACKERS, Request, allow
from workshop.core.errors import ActionRefused
from workshop.core.forms import refusals_on, refuse
from workshop.ledger.models import Item, ItemKind
from workshop.planning import services
from workshop.planning.forms import (
    OrderColumnsForm,
    OrderFileForm,
    OrderForm,
    OrderLineForm,
    TokenOnlyForm,
)
from workshop.planning.lists import ORDERS
from workshop.planning.models import CustomerOrder
from workshop.planning.orders.open_orders import customer_lines
from workshop.planning.orders.order_files import Read, decoded, orders_of, table_of

LINES = 8


def _orders() -> QuerySet[CustomerOrder]:
    return (
        CustomerOrder.objects.latest_of_each()
        .select_related("customer")
        .annotate(products=Count("lines"), units=Sum("lines__units"))
    )


@require_GET
@allow(EVERYONE)
def orders(request: Request) -> HttpResponse:
    """What customers ordered; above it, what of it is still to go out."""
    today = timezone.localdate()
    open_lines = [line for line in customer_lines() if line.open_units > 0]
    context = {
        "open_lines": open_lines[:50],
        "open_count": len(open_lines),
        "late": sum(line.due_on < today for line in open_lines),
        "today": today,
    }
    return ORDERS.read(request, _orders()).answer("planning/orders.html", context)


@require_http_methods(["GET", "POST"])
@allow(PACKERS)
def new_order(request: Request) -> HttpResponse:
    """An order by hand; with the number of a known one it takes its place."""
    data = request.POST or None
    form = OrderForm(data)
    rows = _rows(data)
    sound = [form.is_valid(), *(row.is_valid() for row in rows)]
    if data and all(sound):
        try:
            order = services.enter_order(
                _facts(form, rows),
                by=request.user,
                at=timezone.now(),
                token=form.cleaned_data["token"],
            )
        except ActionRefused as error:
            refuse(form, error)
        else:
            messages.success(request, f"Order {order} of {order.customer} is entered.")
            return redirect("planning:orders")
    return render(request, "planning/new_order.html", {"form": form, "rows": rows})


def _rows(data: Any) -> list[OrderLineForm]:
    items = Item.objects.active().of_kind(ItemKind.PRODUCT)
    choices = [("", "no product"), *((item.pk, item.name) for item in items)]
    rows = [OrderLineForm(data, prefix=f"line-{n}", products=items) for n in range(LINES)]
    for row in rows:  # one query for all of them
        row.fields["item"].widget = forms.Select(choices=choices)
    return rows


def _facts(form: OrderForm, rows: list[OrderLineForm]) -> services.OrderFacts:
    units: dict[Item, int] = {}
    for row in rows:
        item = row.cleaned_data.get("item")
        if item:
            units[item] = units.get(item, 0) + int(row.cleaned_data["units"])
    values = {name: form.cleaned_data[name] for name in ("number", "customer")}
    days = {name: form.cleaned_data[name] for name in ("ordered_on", "due_on")}
    return services.OrderFacts(**values, **days, units=units)


@require_http_methods(["GET", "POST"])
@allow(PACKERS)
def order_file(request: Request) -> HttpResponse:
    """Orders from a CSV file: first its columns and what they come to, then taken in."""
    if "text" in request.POST:
        return _columns(request, request.POST["text"], request.POST)
    form = OrderFileForm(request.POST or None, request.FILES or None)
    if form.is_valid():
        with refusals_on(form):
            text = decoded(form.cleaned_data["file"].read())
            return _columns(request, text, None)
    return render(request, "planning/order_file.html", {"form": form})


def _columns(request: Request, text: str, data: Any) -> HttpResponse:
    try:
        table = table_of(text)
    except ActionRefused as error:
        form = OrderFileForm({}, {})
        form.is_valid()
        form.errors.clear()
        form.add_error("file", error.message)
        return render(request, "planning/order_file.html", {"form": form})
    choose = OrderColumnsForm(data, heads=table.heads, initial={"text": text})
    read: Read | None = None
    if choose.is_valid():
        values = choose.cleaned_data
        read = orders_of(
            table,
            choose.columns,
            customer=values["for_customer"],
            due_on=values["due_anyway"],
            today=timezone.localdate(),
        )
        if "take" in request.POST and not read.problems:
            with refusals_on(choose):
                taken = services.take_orders(
                    read.orders, by=request.user, at=timezone.now(), token=values["token"]
                )
                messages.success(
                    request,
                    f"{taken.new} new, {taken.changed} changed, {taken.known} known as they are.",
                )
                return redirect("planning:orders")
    context = {"form": choose, "table": table, "first": table.rows[:5], "read": read}
    return render(request, "planning/order_columns.html", context)


@require_http_methods(["GET", "POST"])
@allow(EVERYONE)
def order(request: Request, pk: int) -> HttpResponse:
    """One order as it stands: what is still to go out of it."""
    found = get_object_or_404(CustomerOrder.objects.select_related("customer", "by"), pk=pk)
    form = TokenOnlyForm(request.POST or None, button="Cancel this order")
    if form.is_valid():
        with refusals_on(form):
            services.cancel_order(found, **form.cleaned_data, by=request.user, at=timezone.now())
            messages.success(request, f"Order {found} is cancelled.")
            return redirect("planning:orders")
    lines = [line for line in customer_lines() if line.line.order_id == found.pk]
    context = {
        "order": found,
        "lines": lines,
        "written": found.lines.select_related("item"),
        "counts": found.pk == CustomerOrder.objects.filter(number=found.number).latest("pk").pk,
        "form": form,
    }
    return render(request, "planning/order.html", context)
