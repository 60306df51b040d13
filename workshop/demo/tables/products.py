"""What is sold, with GTINs from the prefix that GS1 keeps for demonstrations."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from workshop.core.models import User
from workshop.demo.tables.folder import rows_of
from workshop.ledger.models import Item
from workshop.packing.models import Product
from workshop.packing.services.products import ProductFacts, save_product
from workshop.rules.codes.gs1 import gtin_check_digit

PREFIX = "952"


@dataclass(frozen=True, kw_only=True)
class Sold:
    code: str
    name: str
    bulk: str
    container: str
    fill_g: Decimal
    number: int
    identity: str
    directions: str
    cautions: str
    unit_name: str
    claims_organic: bool

    @property
    def gtin(self) -> str:
        body = f"{PREFIX}{self.number:09}"
        return body + gtin_check_digit(body)


def _sold(row: dict[str, str]) -> Sold:
    typed = {
        "fill_g": Decimal(row["fill_g"]),
        "number": int(row["number"]),
        "claims_organic": row["claims_organic"] == "yes",
    }
    return Sold(**{**row, **typed})  # type: ignore[arg-type]  # the typed ones take their place


SOLD = tuple(_sold(row) for row in rows_of("products.csv"))


def enter_products(items: Mapping[str, Item], *, by: User, at: datetime) -> dict[str, Product]:
    return {
        sold.code: save_product(
            ProductFacts(
                code=sold.code,
                name=sold.name,
                bulk=items[sold.bulk],
                container=items[sold.container],
                fill_g=sold.fill_g,
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
