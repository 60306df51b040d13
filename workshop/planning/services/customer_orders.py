"""Enter customers' orders, by hand or many at once, and cancel one."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from hashlib import sha256

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.core.saving.locks import advisory_lock
from workshop.dispatch.models import Customer
from workshop.ledger.models import Item, ItemKind
from workshop.planning.models import CustomerOrder, CustomerOrderLine

MOST_UNITS = 1_000_000


@dataclass(frozen=True)
class OrderFacts:
    """What stands on a customer's order; units by product."""

    number: str
    customer: Customer
    ordered_on: date
    due_on: date
    units: Mapping[Item, int]


@transaction.atomic
def enter_order(facts: OrderFacts, *, by: User, at: datetime, token: str) -> CustomerOrder:
    """Enter an order, or put it in the place of the one of its number.

    The same again, under whatever token, changes nothing. Raises ActionRefused for an order
    without a number or a product, due before it was given, or of another customer's number.
    """
    units = {str(item.pk): number for item, number in facts.units.items()}
    if check_idempotency(token, "order", number=facts.number, content=_content(facts, units)):
        known = CustomerOrder.objects.filter(token=token).first()
        if known:
            return known
    _refuse_odd(facts)
    advisory_lock(f"order {facts.number.strip()}")
    before = newest(facts.number)
    if before and before.customer_id != facts.customer.pk:
        raise ActionRefused(
            f"{before.number} is an order of {before.customer} already.", field="number"
        )
    if before and not before.is_cancelled and _same(before, facts):
        return before
    return _write(facts, by=by, at=at, token=token)


def _content(facts: OrderFacts, units: Mapping[str, int]) -> tuple[object, ...]:
    return (facts.customer, facts.ordered_on, facts.due_on, units)


def newest(number: str) -> CustomerOrder | None:
    """The order of that number that counts."""
    rows = CustomerOrder.objects.filter(number=number.strip()).select_related("customer")
    return rows.order_by("pk").last()


def _refuse_odd(facts: OrderFacts) -> None:
    if not facts.number.strip():
        raise ActionRefused("Give the number of the order.", field="number")
    if not facts.units:
        raise ActionRefused("Say how much of which product is ordered.")
    if facts.due_on < facts.ordered_on:
        raise ActionRefused("It cannot be due before it was ordered.", field="due_on")
    for item, number in facts.units.items():
        if item.kind != ItemKind.PRODUCT:
            raise ActionRefused(f"{item} is not a product.")
        if not 0 < number <= MOST_UNITS:
            raise ActionRefused(f"Order from 1 to {MOST_UNITS} units of {item}.")


def _same(before: CustomerOrder, facts: OrderFacts) -> bool:
    units = dict(before.lines.values_list("item", "units"))
    return before.due_on == facts.due_on and units == {
        item.pk: number for item, number in facts.units.items()
    }


def _write(
    facts: OrderFacts, *, by: User, at: datetime, token: str, is_cancelled: bool = False
) -> CustomerOrder:
    order = CustomerOrder.objects.create(
        number=facts.number.strip(),
        customer=facts.customer,
        ordered_on=facts.ordered_on,
        due_on=facts.due_on,
        is_cancelled=is_cancelled,
        by=by,
        at=at,
        token=token,
    )
    CustomerOrderLine.objects.bulk_create(
        CustomerOrderLine(order=order, item=item, units=number)
        for item, number in facts.units.items()
    )
    return order


@transaction.atomic
def cancel_order(order: CustomerOrder, *, by: User, at: datetime, token: str) -> CustomerOrder:
    """Nothing of this order is wanted any more; it can be entered again."""
    if check_idempotency(token, "cancel order", number=order.number):
        return CustomerOrder.objects.get(token=token)
    advisory_lock(f"order {order.number}")
    before = newest(order.number)
    if before is None or before.is_cancelled:
        raise ActionRefused(f"{order.number} is cancelled already.")
    units = {line.item: line.units for line in before.lines.select_related("item")}
    facts = OrderFacts(before.number, before.customer, before.ordered_on, before.due_on, units)
    return _write(facts, by=by, at=at, token=token, is_cancelled=True)


@dataclass(frozen=True)
class Taken:
    """What came of a file of orders."""

    new: int
    changed: int
    known: int


@transaction.atomic
def take_orders(orders: Sequence[OrderFacts], *, by: User, at: datetime, token: str) -> Taken:
    """Enter all orders of a file, or none; those that the book knows as they are stay."""
    new = changed = known = 0
    for facts in orders:
        before = newest(facts.number)
        own = sha256(f"{token}:{facts.number}".encode()).hexdigest()
        after = enter_order(facts, by=by, at=at, token=own)
        if before is None:
            new += 1
        elif before.pk == after.pk:
            known += 1
        else:
            changed += 1
    return Taken(new, changed, known)
