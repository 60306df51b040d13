"""What is sold, with GTINs from the prefix that GS1 keeps for demonstrations."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from workshop.core.models import User
from workshop.ledger.models import Item
from workshop.packing.models import Product
from workshop.packing.services.products import ProductFacts, save_product
from workshop.rules.codes.gs1 import gtin_check_digit

PREFIX = "952"
OUTSIDE_ONLY = "For external use only. Keep away from eyes."
STOP = "Stop using it if the skin reddens."


@dataclass(frozen=True, kw_only=True)
class Sold:
    code: str
    name: str
    bulk: str
    container: str
    fill_g: int
    number: int
    identity: str
    directions: str
    cautions: str = f"{OUTSIDE_ONLY} {STOP}"
    unit_name: str = "tin"
    claims_organic: bool = False

    @property
    def gtin(self) -> str:
        body = f"{PREFIX}{self.number:09}"
        return body + gtin_check_digit(body)


SOLD = (
    Sold(
        code="CAL-60",
        name="Calendula hand salve 60 g",
        bulk="BULK-SAL",
        container="TIN-60",
        fill_g=60,
        number=70060,
        identity="hand salve",
        directions="Warm a little between the hands and work it in.",
        claims_organic=True,
    ),
    Sold(
        code="CAL-15",
        name="Calendula hand salve 15 g",
        bulk="BULK-SAL",
        container="TIN-15",
        fill_g=15,
        number=70015,
        identity="hand salve",
        directions="Warm a little between the hands and work it in.",
        claims_organic=True,
    ),
    Sold(
        code="CED-50",
        name="Cedar beard balm 50 g",
        bulk="BULK-CED",
        container="TIN-50",
        fill_g=50,
        number=71050,
        identity="beard balm",
        directions="Comb a pea-sized piece through the beard.",
        claims_organic=True,
    ),
    Sold(
        code="ROS-100",
        name="Rosehip cleansing balm 100 g",
        bulk="BULK-ROS",
        container="JAR-100",
        fill_g=100,
        number=72100,
        identity="cleansing balm",
        directions="Massage onto a dry face, add water, rinse off.",
        unit_name="jar",
    ),
    Sold(
        code="SOA-110",
        name="Oat and lavender soap 110 g",
        bulk="BULK-SOA",
        container="BOX-110",
        fill_g=110,
        number=73110,
        identity="bar soap",
        directions="Keep it dry between washes.",
        cautions="Keep away from eyes; rinse with water.",
        unit_name="bar",
    ),
    Sold(
        code="BAR-60",
        name="Unscented barrier balm 60 g",
        bulk="BULK-BAR",
        container="TIN-60",
        fill_g=60,
        number=74060,
        identity="barrier balm",
        directions="Smooth a thin layer onto dry skin.",
        claims_organic=True,
    ),
    Sold(
        code="MIN-60",
        name="Mint foot salve 60 g",
        bulk="BULK-MIN",
        container="TIN-60",
        fill_g=60,
        number=75060,
        identity="foot salve",
        directions="Rub into clean, dry feet. Wash hands afterwards.",
        cautions=f"{OUTSIDE_ONLY} Not for children under six. {STOP}",
    ),
)


def enter_products(items: Mapping[str, Item], *, by: User, at: datetime) -> dict[str, Product]:
    return {
        sold.code: save_product(
            ProductFacts(
                code=sold.code,
                name=sold.name,
                bulk=items[sold.bulk],
                container=items[sold.container],
                fill_g=Decimal(sold.fill_g),
                unit_name=sold.unit_name,
                gtin=sold.gtin,
                identity=sold.identity,
                directions=sold.directions,
                cautions=sold.cautions,
                claims_organic=sold.claims_organic,
                # All that a small tin offers for labelling is under 12 square inches.
                is_small_package=sold.unit_name == "tin",
            ),
            by=by,
            at=at,
        )
        for sold in SOLD
    }
