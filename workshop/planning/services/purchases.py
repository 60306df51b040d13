"""Write an order to a supplier, and end one of which nothing more comes."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from hashlib import sha256

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.goods_in.models import Supplier
from workshop.ledger.models import Item, ItemKind
from workshop.ledger.services import next_reference
from workshop.planning.models import PurchaseLine, PurchaseOrder, PurchaseStop

ORDER_LETTER = "O"
MOST = Decimal(10_000_000)


@dataclass(frozen=True)
class PurchaseFacts:
    """What is ordered of a supplier: grams or pieces by item."""

    supplier: Supplier
    ordered_on: date
    expected_on: date
    amounts: Mapping[Item, Decimal]
    note: str = ""


@transaction.atomic
def write_purchase(facts: PurchaseFacts, *, by: User, at: datetime, token: str) -> PurchaseOrder:
    """Write an order under the next number of its month.

    Raises ActionRefused for an order of nothing, of what is made here, or due before its day.
    """
    content = {str(item.pk): amount for item, amount in facts.amounts.items()}
    days = (facts.ordered_on, facts.expected_on)
    if check_idempotency(
        token, "purchase", supplier=facts.supplier, days=days, content=content, note=facts.note
    ):
        return PurchaseOrder.objects.get(token=token)
    _refuse_odd(facts)
    order = PurchaseOrder.objects.create(
        number=next_reference(ORDER_LETTER, facts.ordered_on),
        supplier=facts.supplier,
        ordered_on=facts.ordered_on,
        expected_on=facts.expected_on,
        note=facts.note.strip(),
        by=by,
        at=at,
        token=token,
    )
    PurchaseLine.objects.bulk_create(
        PurchaseLine(order=order, item=item, quantity=amount)
        for item, amount in facts.amounts.items()
    )
    return order


def _refuse_odd(facts: PurchaseFacts) -> None:
    if not facts.amounts:
        raise ActionRefused("Say how much of what is ordered.")
    if facts.expected_on < facts.ordered_on:
        raise ActionRefused("It cannot come before it is ordered.", field="expected_on")
    for item, amount in facts.amounts.items():
        if item.kind not in (ItemKind.MATERIAL, ItemKind.PACKAGING):
            raise ActionRefused(f"{item} is made here; only materials and packaging are ordered.")
        if not 0 < amount <= MOST:
            raise ActionRefused(f"Order more than nothing and at most ten tonnes of {item}.")


@transaction.atomic
def stop_purchase(
    order: PurchaseOrder, reason: str, *, by: User, at: datetime, token: str
) -> PurchaseStop:
    """Nothing more comes of this order. Raises ActionRefused where that was said before."""
    if check_idempotency(token, "purchase ended", order=order, reason=reason):
        return PurchaseStop.objects.get(token=token)
    PurchaseOrder.objects.select_for_update().get(pk=order.pk)
    if PurchaseStop.objects.filter(order=order).exists():
        raise ActionRefused(f"{order} was ended already.")
    if not reason.strip():
        raise ActionRefused("Say why nothing more comes.", field="reason")
    return PurchaseStop.objects.create(
        order=order, reason=reason.strip(), by=by, at=at, token=token
    )


@transaction.atomic
def write_purchases(
    orders: Sequence[PurchaseFacts], *, by: User, at: datetime, token: str
) -> list[PurchaseOrder]:
    """Write several orders, or none: the form had one token for all."""
    return [
        write_purchase(
            facts,
            by=by,
            at=at,
            token=sha256(f"{token}:{facts.supplier.pk}".encode()).hexdigest(),
        )
        for facts in orders
    ]
