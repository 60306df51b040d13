"""Builders of soap: fats with their saponification values, lye, water, and formulas of them."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from tests import make
from tests.kettle import build
from workshop.formulas.models import Version
from workshop.ledger.models import Item
from workshop.materials.models import Constituency, Profile, SoapValue

# Saponification values, mg KOH/g, the middle of CXS 33 and CXS 210: 184 to 196, 248 to 265.
OLIVE, COCONUT = Decimal(190), Decimal("256.5")
Shares = Sequence[tuple[Item, str]]


def item(name: str, inci: str, value: Decimal | int | None = None, **values: Any) -> Item:
    made = make.item(name=name)
    Profile.objects.create(item=made, inci_name=inci, **values)
    if value is not None:
        SoapValue.objects.create(item=made, value=value)
    return made


def olive(value: Decimal | None = OLIVE) -> Item:
    return item(
        "Olive oil", "Olea Europaea Fruit Oil", value,
        common_name="olive oil", soap_name="Sodium Olivate",
    )  # fmt: skip


def coconut(value: Decimal | None = COCONUT) -> Item:
    return item(
        "Coconut oil", "Cocos Nucifera Oil", value,
        common_name="coconut oil", soap_name="Sodium Cocoate",
    )  # fmt: skip


def water() -> Item:
    return item("Water", "Aqua", kind=Constituency.WATER)


def lye() -> Item:
    return item("Sodium hydroxide", "Sodium Hydroxide", kind="alkali", cas="1310-73-2")


def lye_heavy() -> Shares:
    """13.22 g of KOH, or 9.43 g of NaOH, is what these fats bind: 10 g are too much."""
    return [(olive(), "48"), (coconut(), "16"), (water(), "26"), (lye(), "10")]


def sound(oil: Item | None = None) -> Shares:
    """76 g of olive oil at 190 bind 10.29 g of NaOH: 9.8 g leave 4.8 % of it."""
    return [(oil or olive(), "76"), (water(), "14.2"), (lye(), "9.8")]


def version(shares: Shares | None = None, **values: Any) -> Version:
    values.setdefault("cure_days", 42)
    return build.version(shares or sound(), **values)
