"""Builders for complaints and recalls."""

from datetime import date
from decimal import Decimal
from typing import Any

from tests import make
from tests.dispatch import build as dispatch
from tests.trace import build
from workshop.aftersales.models import Channel, Complaint, Nature, Recall, Severity
from workshop.aftersales.services import complaints, recalls
from workshop.core.saving.new_tokens import new_token
from workshop.dispatch.models import Customer
from workshop.dispatch.services.delivery_confirmation import confirm_delivery
from workshop.ledger.models import Lot


def complaint(*lots: Lot, received_on: date = make.DAY, **values: Any) -> Complaint:
    """A complaint written down on the day it came."""
    values.setdefault("channel", Channel.TELEPHONE)
    values.setdefault("nature", Nature.SMELL)
    values.setdefault("severity", Severity.MINOR)
    values.setdefault("description", "It smells of old oil.")
    by = values.pop("by", None) or make.user()
    token, at = values.pop("token", new_token()), values.pop("at", make.NOON)
    return complaints.log(
        Complaint(received_on=received_on, **values), lots=lots, by=by, at=at, token=token
    )


def assessed(found: Complaint, *lots: Lot, outcome: str = "") -> Complaint:
    complaints.assess(
        found,
        "The oil was rancid.",
        severity=Severity.MAJOR,
        outcome=outcome,
        lots=lots,
        by=make.user(),
        at=make.NOON,
        token=new_token(),
    )
    found.refresh_from_db()
    return found


def recall(lot: Lot, **values: Any) -> Recall:
    values.setdefault("reason", "It may be rancid")
    values.setdefault("by", make.user())
    values.setdefault("at", make.NOON)
    values.setdefault("token", new_token())
    return recalls.start(lot, **values)


class House:
    """A wax that went into one batch and from there into 480 tins, 318 of them sent out."""

    def __init__(self) -> None:
        self.wax = make.lot(on_hand=30_000)
        self.salve = build.batch((self.wax, 28_800), grams=28_800)
        self.tins = build.packed((self.salve, 28_700), units=480)
        self.shop = dispatch.customer(
            "Ostrell Larder", contact="Ivo Marn", telephone="+1 555 0100", address="3 Quay\nOstrell"
        )
        self.spa = dispatch.customer("Tollen Baths", email="buy@tollen.example")
        self.to_shop = dispatch.sent((self.tins, 300), to=self.shop)
        self.to_spa = dispatch.sent((self.tins, 18), to=self.spa)
        confirm_delivery(
            [self.to_shop, self.to_spa], arrived_on=make.DAY, by=make.user(), at=make.NOON
        )

    def stands_for_many(self, buyers_named: int | None = None) -> None:
        """The shop that was sent 300 tins is only a name for its many buyers."""
        Customer.objects.filter(pk=self.shop.pk).update(
            stands_for_many=True, buyers_named=buyers_named
        )

    def talk(self, recall: Recall, customer: Customer, what: str, **values: Any) -> None:
        values.setdefault("means", "telephone")
        values.setdefault("words", "Spoke with the shop")
        values.setdefault("token", new_token())
        recalls.talk(recall, customer, what, by=make.user(), at=make.NOON, **values)


def close(recall: Recall, found: dict[Lot, int] | None = None, **values: Any) -> Recall:
    values.setdefault("cause", "An old drum of oil; the supplier is told.")
    values.setdefault("at", make.NOON)
    values.setdefault("token", new_token())
    counted = {lot.pk: Decimal(units) for lot, units in (found or {}).items()}
    return recalls.close(recall, found=counted, by=make.user(), **values)
