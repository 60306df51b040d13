"""The usual cautions at the kettle, shown at the line or step where they apply."""

from collections.abc import Iterable
from decimal import Decimal

from workshop.formulas.models import Step
from workshop.kettle.models import BatchLine
from workshop.materials.models import Constituency, Profile, profile_of
from workshop.materials.saponification import is_lye
from workshop.rules.soap.lye import CAUTIONS

# From memory: water on hot oil or wax spits and boils over; a melt left alone catches fire.
HOT = "Hot melt: never leave it alone, heat it gently, keep water out of hot oil and wax."
# From memory: flash points of citrus peel oils lie about 46 to 50 °C.
ESSENTIAL_OIL = (
    "Essential oil: add below 50 to 60 °C and away from any flame, mind its flash point, "
    "and never more than the skin limit in its certificate."
)
KEEP_WATER_OUT = "Keep water out: dry tools, no wet hands, no lid that drips."
DANGERS = {
    HOT: "heat",
    ESSENTIAL_OIL: "scent",
    KEEP_WATER_OUT: "dry",
    **dict.fromkeys(CAUTIONS, "lye"),
}
HOT_FROM_C = Decimal(60)  # beeswax melts at 62 to 65 °C (USP 32)


def cautions_of(line: BatchLine, steps: Iterable[Step]) -> list[str]:
    """Each caution once: of the material first, then of the steps of its phase."""
    found = _of_material(profile_of(line.item))
    for step in steps_of(line, steps):
        found += of_step(step)
    return said_once(found)


def said_once(found: Iterable[str]) -> list[str]:
    """Each caution once; that of a hot melt says already to keep water out."""
    once = list(dict.fromkeys(found))
    return [one for one in once if one != KEEP_WATER_OUT or HOT not in once]


def danger_of(caution: str) -> str:
    """Which pictogram stands before a caution: that of heat, lye, scent or water; before one in
    the owner's own words that of care."""
    return DANGERS.get(caution, "care")


def steps_of(line: BatchLine, steps: Iterable[Step]) -> list[Step]:
    return [step for step in steps if step.phase in ("", line.phase)]


def of_step(step: Step) -> list[str]:
    found = [step.caution] if step.caution else []
    warmest = max(step.from_c or Decimal(0), step.to_c or Decimal(0))
    if warmest >= HOT_FROM_C:
        found.append(HOT)
    elif step.keep_water_out:
        found.append(KEEP_WATER_OUT)
    return found


def _of_material(profile: Profile | None) -> list[str]:
    if profile is None:
        return []
    found = [profile.caution] if profile.caution else []
    if is_lye(profile):
        found.extend(CAUTIONS)
    if profile.kind == Constituency.FRAGRANCE:
        found.append(ESSENTIAL_OIL)
    return found
