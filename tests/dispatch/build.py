"""Builders of the dispatch room."""

from datetime import date
from decimal import Decimal
from typing import Any

from tests import make
from workshop.core.models import User
from workshop.core.saving.new_tokens import new_token
from workshop.dispatch import services
from workshop.dispatch.models import Customer, Dispatch, Return
from workshop.ledger.models import ItemKind, Lot


def customer(name: str = "Ostrell Larder", **values: Any) -> Customer:
    return Customer.objects.create(name=name, **values)


def finished_lot(on_hand: int = 40, *, name: str = "Cedar beard balm 50 g", **values: Any) -> Lot:
    return make.lot(make.item(ItemKind.PRODUCT, name=name), on_hand=on_hand, **values)


def sent(
    *lines: tuple[Lot, int],
    to: Customer | None = None,
    by: User | None = None,
    sent_on: date = make.DAY,
    **values: Any,
) -> Dispatch:
    values.setdefault("token", new_token())
    return services.dispatch(
        to or customer(),
        [(lot, Decimal(units)) for lot, units in lines],
        sent_on=sent_on,
        by=by or make.user(),
        at=make.NOON,
        **values,
    )


def back(
    dispatch: Dispatch, *lines: tuple[Lot, int], reason: str = "Lid dented", **values: Any
) -> Return:
    values.setdefault("token", new_token())
    values.setdefault("returned_on", make.DAY)
    values.setdefault("by", make.user())
    return services.record_return(
        dispatch,
        [(lot, Decimal(units)) for lot, units in lines],
        reason=reason,
        at=make.NOON,
        **values,
    )
