"""What is filled into a unit as people write it: a weight, or for a liquid a volume."""

from decimal import Decimal

from workshop.core.errors import ActionRefused
from workshop.core.formatting import number
from workshop.formulas.models import Version
from workshop.ledger.models import Item
from workshop.materials.models import Profile
from workshop.rules.errors import RuleError
from workshop.rules.labels.net_volume import mixture_density, weight_of
from workshop.rules.quantities.units import is_volume, parse_mass, parse_volume

LEAST_DENSITY, MOST_DENSITY = Decimal("0.3"), Decimal(5)


def read_fill(text: str, density: Decimal | None, bulk: Item | None) -> dict[str, Decimal | None]:
    """The fill of a product as its fields; a volume takes its density from the formula if none.

    Raises ActionRefused, beside the field, for what is neither, and for a volume without density.
    """
    bare = f"{text} g" if text.strip()[-1:].isdigit() else text
    try:
        if not is_volume(bare):
            return {"fill_g": parse_mass(bare), "fill_ml": None, "density_g_per_ml": None}
        fill_ml = parse_volume(bare)
    except RuleError as error:
        raise ActionRefused(str(error), field="fill_g") from error
    density = density or (formula_density(bulk) if bulk else None)
    if density is None:
        raise ActionRefused(
            "A fill by volume needs the density of what is filled: weigh 100 mL of it at 20 °C, "
            "and enter a hundredth of its grams.",
            field="density_g_per_ml",
        )
    if not LEAST_DENSITY <= density <= MOST_DENSITY:
        raise ActionRefused(
            f"A density lies between {number(LEAST_DENSITY)} and {number(MOST_DENSITY)} g/mL.",
            field="density_g_per_ml",
        )
    grams = weight_of(fill_ml, density)
    return {"fill_g": grams, "fill_ml": fill_ml, "density_g_per_ml": density}


def formula_density(bulk: Item) -> Decimal | None:
    """The density of a bulk by the formula approved last, if that of each of its parts is known."""
    approved = Version.objects.approved().filter(formula__item=bulk)
    version = approved.order_by("-approved_at", "-pk").first()
    lines = list(version.lines.filter(share__gt=0)) if version else []
    profiles = Profile.objects.filter(item__in=[line.item_id for line in lines])
    known = {one.item_id: one.density_g_per_ml for one in profiles}
    parts = [(line.share, known.get(line.item_id)) for line in lines]
    told = [(share, density) for share, density in parts if density]
    return mixture_density(told) if told and len(told) == len(parts) else None
