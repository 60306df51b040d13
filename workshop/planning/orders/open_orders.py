"""What is still to come of customers' orders and of orders to suppliers."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Sum

from workshop.goods_in.models import ReceiptLine
from workshop.ledger.models import OperationKind, Posting
from workshop.planning.models import CustomerOrder, CustomerOrderLine, PurchaseLine
from workshop.rules.planning.order_book import Moved, Wanted, still_open


@dataclass(frozen=True)
class OpenLine:
    """A line of a customer's order, and how many units have not gone out yet."""

    line: CustomerOrderLine
    open_units: Decimal

    @property
    def due_on(self) -> date:
        return self.line.order.due_on


@dataclass(frozen=True)
class OnOrder:
    """A line of an order to a supplier, and how much has not come in yet."""

    line: PurchaseLine
    open_quantity: Decimal


def customer_lines() -> list[OpenLine]:
    """Every line of every order that counts, with what is open of it; two queries."""
    counts = CustomerOrder.objects.latest_of_each().filter(is_cancelled=False)
    lines = list(
        CustomerOrderLine.objects.filter(order__in=counts)
        .select_related("order__customer", "item")
        .order_by("order__due_on", "order__number", "pk")
    )
    if not lines:
        return []
    wanted = [
        Wanted(
            line.pk,
            line.order.customer_id,
            line.item_id,
            line.order.number,
            line.order.ordered_on,
            line.order.due_on,
            Decimal(line.units),
        )
        for line in lines
    ]
    left = still_open(wanted, _sent(wanted))
    return [OpenLine(line, left[line.pk]) for line in lines]


def _sent(wanted: list[Wanted]) -> list[Moved]:
    rows = (
        Posting.objects.filter(
            operation__kind=OperationKind.DISPATCH,
            operation__dispatch__taken_back=None,
            operation__dispatch__customer__in={line.party for line in wanted},
            operation__dispatch__sent_on__gte=min(line.ordered_on for line in wanted),
            lot__item__in={line.thing for line in wanted},
        )
        .order_by()
        .values_list(
            "operation__dispatch__customer",
            "lot__item",
            "operation__dispatch__customer_reference",
            "operation__dispatch__sent_on",
        )
        .annotate(change=Sum("quantity"))
    )
    return [
        Moved(party, thing, number, on, -change)
        for party, thing, number, on, change in rows
        if change < 0
    ]


def open_by_item(lines: list[OpenLine]) -> dict[int, list[OpenLine]]:
    """The lines of which something is open, by product, those due first first."""
    found: dict[int, list[OpenLine]] = defaultdict(list)
    for line in lines:
        if line.open_units > 0:
            found[line.line.item_id].append(line)
    return found


def purchase_lines() -> list[OnOrder]:
    """Every line of every order to a supplier that was not ended, with what is open of it."""
    lines = list(
        PurchaseLine.objects.filter(order__stopped=None)
        .select_related("order__supplier", "item")
        .order_by("order__expected_on", "order__number", "pk")
    )
    if not lines:
        return []
    wanted = [
        Wanted(
            line.pk,
            line.order.supplier_id,
            line.item_id,
            line.order.number,
            line.order.ordered_on,
            line.order.expected_on,
            line.quantity,
        )
        for line in lines
    ]
    left = still_open(wanted, _came_in(wanted))
    return [OnOrder(line, left[line.pk]) for line in lines]


def _came_in(wanted: list[Wanted]) -> list[Moved]:
    rows = ReceiptLine.objects.effective().filter(
        receipt__supplier__in={line.party for line in wanted},
        receipt__received_on__gte=min(line.ordered_on for line in wanted),
        lot__item__in={line.thing for line in wanted},
    )
    return [
        Moved(
            row.receipt.supplier_id,
            row.lot.item_id,
            "",
            row.receipt.received_on,
            row.posting.quantity,
        )
        for row in rows.select_related("receipt", "lot", "posting").order_by("pk")
    ]
