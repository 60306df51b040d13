"""Usual materials of the trade, to choose from: published figures, each with its source.

`fixtures/materials/usual.csv` names beside each figure where it was read, or says that it is
unread. Whoever takes a material may change all of it; a supplier's own data sheet counts before it.
"""

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

from django.conf import settings

from workshop.materials.models import Constituency
from workshop.materials.services.materials import Material

TABLES = Path(settings.BASE_DIR) / "fixtures" / "materials"
FIGURES = (
    *("density_g_per_ml", "soap_value", "soap_least", "soap_most"),
    *("melting_from_c", "melting_to_c"),
)
MOST_FOUND = 60


@dataclass(frozen=True)
class UsualMaterial:
    """One material of the table, as it would be entered, and its usual allergens in percent."""

    name: str
    group: str
    inci_name: str
    figures: Material
    allergens: dict[str, Decimal]


@cache
def usual_materials() -> dict[str, UsualMaterial]:
    """By name in small letters, in the order of the table."""
    allergens: dict[str, dict[str, Decimal]] = {}
    for row in _rows("usual-allergens.csv"):
        allergens.setdefault(row["material"], {})[row["allergen"]] = Decimal(row["percent"])
    return {
        row["name"].lower(): UsualMaterial(
            row["name"],
            row["group"],
            row["inci_name"],
            _material(row),
            allergens.get(row["name"], {}),
        )
        for row in _rows("usual.csv")
    }


def _rows(name: str) -> Iterator[dict[str, str]]:
    with (TABLES / name).open(encoding="utf-8", newline="") as table:
        yield from csv.DictReader(table)


def _material(row: dict[str, str]) -> Material:
    inci_name, common_name = _names(row["inci_name"], row["inci_us"])
    figures: dict[str, Any] = {key: Decimal(row[key]) if row[key] else None for key in FIGURES}
    return Material(
        code="",
        name=row["name"],
        inci_name=inci_name,
        common_name=common_name,
        soap_name=row["soap_name"],
        cas=row["cas"],
        constituency=Constituency(row["constituency"]),
        shelf_life_months=int(row["shelf_life_months"]) if row["shelf_life_months"] else None,
        caution=row["caution"],
        **figures,
    )


def _names(eu: str, us: str) -> tuple[str, str]:
    """The INCI name, and the common name that a US list adds where the two differ."""
    if eu.startswith("CI "):
        return eu, us.partition(" (")[0]
    if "(" in us:  # the common name stands within
        return us, ""
    return eu, us if us != eu else ""


def named(text: str) -> UsualMaterial | None:
    return usual_materials().get(text.strip().lower())


def search(text: str) -> list[UsualMaterial]:
    """Those whose name, group or INCI name has every word of `text`; all without one."""
    words = text.lower().split()
    found = [
        one
        for one in usual_materials().values()
        if all(word in f"{one.name} {one.group} {one.inci_name}".lower() for word in words)
    ]
    return found[:MOST_FOUND] if words else found
