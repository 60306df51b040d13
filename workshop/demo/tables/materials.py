"""What is bought: materials and packaging from the table, who sells them, and in what packs.

INCI names and CAS numbers are those of the trade. Densities are typical figures near 20 °C, from
memory: a supplier's own figure always wins. Prices and packs are invented.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from functools import partial

from workshop.core.models import User
from workshop.demo.tables.folder import rows_of
from workshop.demo.tables.scents import enter_scents
from workshop.ledger.models import Item, ItemKind
from workshop.materials.models import Constituency, MaterialStatus, OrganicStatus
from workshop.materials.services.data_sheets import save_soap_value
from workshop.materials.services.materials import BlendComponent, Material, save_material
from workshop.materials.services.organic import enter_known_rules, save_status
from workshop.rules.quantities.units import parse_count, parse_mass

_scent = partial(BlendComponent, kind=Constituency.FRAGRANCE)
BLENDS = {
    "EO-HEA": (
        _scent(
            "Lavandula Angustifolia (Lavender) Oil", Decimal(60), "lavender oil", is_organic=True
        ),
        _scent("Citrus Aurantium Dulcis (Orange) Peel Oil", Decimal(30), "sweet orange oil"),
        _scent("Pelargonium Graveolens Flower Oil", Decimal(10), "geranium oil"),
    )
}


# Melting ranges, °C, from memory of handbooks; beeswax after USP 32. A supplier's own figure wins.
MELTS = {
    "OIL-COC": ("23", "26"),
    "BUT-SHE": ("32", "38"),
    "BUT-COC": ("31", "35"),
    "BUT-MAN": ("31", "36"),
    "BUT-CUP": ("27", "33"),
    "BUT-KOK": ("38", "42"),
    "WAX-BEE": ("62", "65"),
    "WAX-BEW": ("62", "65"),
    "WAX-CAN": ("68.5", "72.5"),
    "WAX-CAR": ("80", "86"),
    "WAX-RIC": ("77", "82"),
    "CRY-MEN": ("41", "44"),
}
# Saponification values, mg KOH/g, from memory: within the ranges of CXS 210, CXS 33 and CXS 325.
SOAP_VALUES = {
    "OIL-SUN": "190",
    "OIL-OLI": "190",
    "OIL-COC": "256",
    "OIL-CAS": "181",
    "OIL-ALM": "192",
    "OIL-RAP": "187",
    "BUT-SHE": "180",
    "BUT-COC": "194",
}


@dataclass(frozen=True)
class Bought:
    """An item as it is bought: of whom, in packs of what, at what price a kilogram or piece."""

    material: Material
    supplier: str
    pack: str
    price: Decimal

    @property
    def code(self) -> str:
        return self.material.code

    @property
    def is_organic(self) -> bool:
        return self.material.is_organic or any(part.is_organic for part in self.material.parts)

    def written(self, packs: int) -> str:
        """The quantity as a delivery note says it."""
        pieces = f" {self.pack}" if self.material.kind == ItemKind.MATERIAL else f" {self.pack} pcs"
        return pieces.strip() if packs == 1 else f"{packs} ×{pieces}"

    def quantity(self, packs: int) -> Decimal:
        """Grams or pieces in so many packs."""
        if self.material.kind == ItemKind.PACKAGING:
            return Decimal(parse_count(self.written(packs)))
        return parse_mass(self.written(packs), density_g_per_ml=self.material.density_g_per_ml)

    def cost(self, quantity: Decimal) -> Decimal:
        units = quantity / 1000 if self.material.kind == ItemKind.MATERIAL else quantity
        return round(self.price * units, 2)


def bought() -> Iterator[Bought]:
    for row in rows_of("materials.csv"):
        yield Bought(_material(row), row["supplier"], row["pack"], Decimal(row["price"]))


def _material(row: dict[str, str]) -> Material:
    if row["kind"] == ItemKind.PACKAGING:
        return Material(code=row["code"], name=row["name"], kind=ItemKind.PACKAGING)
    melts = MELTS.get(row["code"])
    return Material(
        code=row["code"],
        name=row["name"],
        inci_name=row["inci_name"],
        common_name=row["common_name"],
        soap_name=row["soap_name"],
        cas=row["cas"],
        constituency=Constituency(row["constituency"]),
        is_organic=row["is_organic"] == "yes",
        density_g_per_ml=Decimal(row["density"]) if row["density"] else None,
        shelf_life_months=int(row["shelf_life_months"]),
        storage=row["storage"],
        max_arrival_c=Decimal(row["max_arrival_c"]) if row["max_arrival_c"] else None,
        melting_from_c=melts and Decimal(melts[0]),
        melting_to_c=melts and Decimal(melts[1]),
        caution=row["caution"],
        parts=BLENDS.get(row["code"], ()),
    )


def enter_materials(*, by: User, at: datetime) -> dict[str, Item]:
    items = {one.code: save_material(one.material, by=by, at=at) for one in bought()}
    for code, value in SOAP_VALUES.items():
        save_soap_value(items[code], Decimal(value), by=by, at=at)
    enter_scents(items, by=by, at=at)
    enter_statuses(items, by=by, at=at)
    return items


# What is not bought as organic, under the National Organic Program. What the list names is told in
# fixtures/organic; the readings of it are the invented owner's own.
NOT_LISTED = "Not in 7 CFR 205.605 or 205.606, as read by the owner"
ORANGE, GERANIUM = (part.inci_name for part in BLENDS["EO-HEA"][1:])
STATUSES: dict[MaterialStatus, tuple[tuple[str, str], ...]] = {
    MaterialStatus.LISTED_A: (("CLA-KAO", ""),),
    MaterialStatus.LISTED_B: (("ANT-TOC", ""), ("ALK-NAO", "")),
    MaterialStatus.PROHIBITED: (
        ("EMU-PG4", ""), ("CLA-GRE", ""), ("MIN-ZNO", ""), ("COL-IRO", ""),
    ),
    MaterialStatus.AGRICULTURAL: (
        ("EO-HEA", ORANGE), ("EO-HEA", GERANIUM),
        *((code, "") for code in (
            "OIL-APR", "OIL-GRA", "OIL-RAS", "WAX-BEW", "BUT-MAN", "BUT-CUP", "BUT-KOK", "WAX-RIC",
            "HRB-COM", "EO-CEV", "EO-GER", "EO-PAT", "EO-FRA",
        )),
    ),
}  # fmt: skip


def enter_statuses(items: dict[str, Item], *, by: User, at: datetime) -> None:
    """The lists that come with the program, and what each material is under them."""
    enter_known_rules(by=by, at=at)
    listed = (MaterialStatus.LISTED_A, MaterialStatus.LISTED_B)
    for status, materials in STATUSES.items():
        for code, part in materials:
            source = "7 CFR 205.605, annual edition of 2015" if status in listed else NOT_LISTED
            row = OrganicStatus(
                profile=items[code].profile, part_name=part, status=status, source=source
            )
            save_status(row, by=by, at=at)
