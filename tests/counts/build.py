"""Builders of rounds and places."""

from datetime import datetime
from decimal import Decimal
from typing import Any

from tests import make
from workshop.core.models import Role, User
from workshop.core.saving.new_tokens import new_token
from workshop.counts import services
from workshop.counts.models import Count, CountRound, RoundEnd
from workshop.counts.rounds import Line, state_of
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, Place, PlaceKind


def place(name: str = "Cupboard", kind: PlaceKind = PlaceKind.CUPBOARD, **values: Any) -> Place:
    values.setdefault("by", make.user(Role.OWNER))
    return ledger.save_place(name=name, kind=kind, at=make.NOON, **values)


def put(place: Place, *lots: Lot, spot: str = "") -> None:
    ledger.put_in_place(
        lots, place, spot=spot, by=make.user(Role.PACKER), at=make.NOON, token=new_token()
    )


def a_round(*, by: User | None = None, at: datetime = make.NOON, **choice: Any) -> CountRound:
    return services.begin_round(
        services.Choice(**choice), by=by or make.user(Role.PACKER), at=at, token=new_token()
    )


def counted(
    found: CountRound,
    lot: Lot,
    figure: Decimal | int | str,
    *,
    by: User | None = None,
    **values: Any,
) -> Count:
    values.setdefault("at", make.NOON)
    values.setdefault("token", new_token())
    return services.record_count(
        found, lot, Decimal(figure), by=by or make.user(Role.PACKER), **values
    )


def line_of(found: CountRound, lot: Lot) -> Line:
    return next(line for line in state_of(found).lines if line.row.lot_id == lot.pk)


def ended(found: CountRound, *lots: Lot, reason: str = "Spilt", **values: Any) -> RoundEnd:
    """The round, ended by an owner who sets the book right for these lots."""
    owner = values.pop("by", None) or make.user(Role.OWNER)
    values.setdefault("confirmed", make.signed(owner))
    values.setdefault("at", make.NOON)
    values.setdefault("token", new_token())
    reasons = {line_of(found, lot).row.pk: reason for lot in lots}
    return services.end_round(found, reasons, by=owner, **values)
