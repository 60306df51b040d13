"""The lists of customers' orders and of orders to suppliers."""

from typing import Any

from django.db.models import Q
from django.urls import reverse

from workshop.core.lists.columns import Amount, Column, Day, Figure, Name, Operation
from workshop.core.lists.listing import Listing, Pick, mentioning
from workshop.planning.models import PurchaseOrder


def _order_page(order: Any) -> str:
    return reverse("planning:order", args=[order.pk])


def _order_state(order: Any) -> str:
    return "cancelled" if order.is_cancelled else ""


ORDERS = Listing(
    columns=[
        Operation("Order", str, to=_order_page, order=("number",)),
        Name("Customer", lambda order: order.customer, order=("customer__name",)),
        Day("Due on", lambda order: order.due_on, order=("due_on",)),
        Day("Ordered on", lambda order: order.ordered_on, order=("ordered_on",)),
        Figure("Products", lambda order: order.products),
        Amount("Units", lambda order: order.units, unit="each"),
        Column("State", _order_state),
    ],
    order=("-due_on", "-pk"),
    order_words="latest due day first",
    none="No order has been entered yet.",
    search=mentioning("number", "customer__name"),
    search_word="Order or customer",
    picks=[
        Pick("standing", "Wanted", Q(is_cancelled=False), "good"),
        Pick("cancelled", "Cancelled", Q(is_cancelled=True), "stop"),
    ],
    days="due_on",
    days_word="Due from",
    file="orders",
)


def _purchase_page(order: PurchaseOrder) -> str:
    return reverse("planning:purchase", args=[order.number])


def _ended(order: Any) -> str:
    return "ended" if hasattr(order, "stopped") else ""


PURCHASES = Listing(
    columns=[
        Operation("Order", str, to=_purchase_page, order=("pk",)),
        Name("Supplier", lambda order: order.supplier, order=("supplier__name",)),
        Day("Ordered on", lambda order: order.ordered_on, order=("ordered_on",)),
        Day("Expected on", lambda order: order.expected_on, order=("expected_on",)),
        Figure("Lines", lambda order: order.lines_count),
        Column("State", _ended),
    ],
    order=("-ordered_on", "-pk"),
    order_words="newest first",
    none="No order has been written yet.",
    search=mentioning("number", "supplier__name"),
    search_word="Order or supplier",
    days="ordered_on",
    days_word="Ordered from",
    file="orders-to-suppliers",
)
