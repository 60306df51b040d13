"""A delivery as it was typed: what its rows name is found or entered, and organic follows."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.goods_in.delivery_checks import ArrivedLot
from workshop.goods_in.models import Certificate, Receipt, Supplier
from workshop.goods_in.named_items import Goods
from workshop.goods_in.services.receipts import receive
from workshop.ledger.models import Item
from workshop.materials.services.usual import take_usual
from workshop.materials.usual import UsualMaterial


@dataclass(frozen=True)
class NamedLot:
    """A row: what it names, its other values, and the certificate its claim stands on.

    Where it `follows` the one chosen for the delivery, it is organic if that covers what it names.
    """

    goods: Goods
    values: Mapping[str, Any]
    certificate: Certificate | None = None
    follows: bool = False


@transaction.atomic
def receive_named(
    supplier: Supplier,
    named: Sequence[NamedLot],
    *,
    by: User,
    at: datetime,
    certificate: Certificate | None = None,
    **rest: Any,
) -> Receipt:
    """As `receive`; a usual material is entered with its first lot.

    Raises what `receive` raises, and ActionRefused for a certificate that covers nothing here.
    """
    covered = set(certificate.items.values_list("pk", flat=True)) if certificate else set()
    arrived = [_arrived(lot, covered, by=by, at=at) for lot in named]
    following = [lot for row, lot in zip(named, arrived, strict=True) if row.follows]
    if certificate and following and not any(lot.is_organic for lot in following):
        raise ActionRefused(
            f"{certificate} covers none of these lots. Choose another one, or none.",
            field="certificate",
        )
    return receive(supplier, arrived, by=by, at=at, **rest)


def _arrived(named: NamedLot, covered: set[int], *, by: User, at: datetime) -> ArrivedLot:
    item = _entered(named.goods, by=by, at=at)
    certificate = named.certificate
    if named.follows and item.pk not in covered:
        certificate = None
    return ArrivedLot(
        item=item, certificate=certificate, is_organic=certificate is not None, **named.values
    )


def _entered(goods: Goods, *, by: User, at: datetime) -> Item:
    if isinstance(goods, UsualMaterial):
        return take_usual(goods, by=by, at=at)
    return goods
