"""Builders for labels: a workshop, and finished lots of a known composition."""

import secrets
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from tests import make
from tests.goods_in import build as goods
from tests.packing import build as packing
from workshop.core.models import Workshop
from workshop.labels.models import MarketSheet, Party
from workshop.ledger import services as ledger
from workshop.ledger.models import ItemKind, Lot, OperationKind, Side, Status
from workshop.packing.models import Product
from workshop.rules.markets.laws import law_of

Part = tuple[Lot, Decimal | int | str]


def workshop(**values: Any) -> Workshop:
    values.setdefault("name", "Wren Hollow Works")
    values.setdefault("address", "4 Quay Lane\nPort Ellery, ME 04000")
    values.setdefault("contact", "555-0100")
    return Workshop.objects.create(pk=1, **values)


def oil(inci: str, common: str = "", **values: Any) -> Lot:
    """A released lot of a material of this INCI name; `organic_until` makes it organic."""
    keys = ("organic_until", "received_on", "grams", "makers_expiry")
    lot = {key: values.pop(key) for key in keys if key in values}
    material = goods.material(
        inci, inci_name=inci, common_name=common, is_organic="organic_until" in lot, **values
    )
    return goods.lot(material, **lot)


def bulk(parts: Sequence[Part], *, made_g: Decimal | int | None = None, **values: Any) -> Lot:
    """A released bulk lot melted from these lots and weights."""
    person = make.user()
    batch = make.operation(OperationKind.BATCH, by=person)
    for source, grams in parts:
        ledger.post(batch, source, Side.IN, Decimal(grams), by=person, at=make.NOON)
    total = Decimal(made_g or sum(Decimal(grams) for _, grams in parts))
    made = ledger.create_lot(
        values.get("item") or make.item(ItemKind.BULK),
        origin=batch,
        made_on=make.DAY,
        best_before=values.get("best_before", make.day(months=12)),
        status=Status.RELEASED,
        by=person,
        at=make.NOON,
    )
    ledger.post(batch, made, Side.OUT, total, by=person, at=make.NOON)
    ledger.close_operation(batch, by=person, at=make.NOON)
    return made


def finished(
    parts: Sequence[Part], *, units: int = 10, fill_g: int | str = 60, **values: Any
) -> Lot:
    """A finished lot of a product whose bulk was melted from these parts."""
    melt = bulk(parts, made_g=max(Decimal(5000), units * Decimal(fill_g)))
    product: Product = packing.product(bulk=melt.item, fill_g=Decimal(fill_g), **values)
    return packing.packed(product, units, bulk=melt, draw=digits_only)


def digits_only(choices: int) -> int:
    """Draws for a lot code of the digits 2 to 9, all as wide: no code is too wide for a label."""
    return secrets.randbelow(min(choices, 8))


def balm(**values: Any) -> Lot:
    """Hand salve of three plain ingredients."""
    parts: list[Part] = [
        (oil("Helianthus Annuus Seed Oil", "Sunflower"), 700),
        (oil("Cera Alba", "Beeswax"), 200),
        (oil("Calendula Officinalis Flower Extract"), 100),
    ]
    return finished(parts, **values)


def sheet(product: Product, market: str = "US", **values: Any) -> MarketSheet:
    """An approved market sheet; where the law asks for one, with a responsible person there."""
    law, owner = law_of(market), make.user()
    if law.needs_responsible_person:
        values["responsible"] = values["responsible"] if "responsible" in values else party(market)
        values.setdefault("origin", "USA")
    values.setdefault("languages", ["en"])
    values.setdefault("function", "" if product.identity else "Hand salve")
    values.setdefault("substantiated_by", "R. Assessor, toxicologist")
    values.setdefault("substantiated_on", make.day(-30))
    values.setdefault("approved_by", owner)
    values.setdefault("approved_at", make.NOON)
    return MarketSheet.objects.create(product=product, market=market, **values)


def party(market: str, **values: Any) -> Party:
    values.setdefault("name", f"Fell & Ferry {market}")
    values.setdefault("address", "4 Sample Wharf\nTidemouth")
    values.setdefault("country", law_of(market).countries[0])
    values.setdefault("contact", "hello@example.com")
    return Party.objects.create(market=market, **values)
