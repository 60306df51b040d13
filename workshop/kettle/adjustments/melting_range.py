"""What a substitute does to the melting of a batch: told where it is known, never computed."""

from decimal import Decimal

from workshop.core.formatting import number
from workshop.kettle.models import BatchLine
from workshop.ledger.models import Item
from workshop.materials.models import profile_of

# Waxes and fats dissolve one another: a mixture melts lower than its shares would say, and
# smears over a wider range. Common practice, no source.
TRY_IT = (
    "At what warmth the whole melts and sets cannot be computed from these: make a spoon test, "
    "let it cool, and try it."
)


def melting_told(line: BatchLine, instead: Item, share_percent: Decimal) -> list[str]:
    """The melting ranges that change places, in sentences; none if neither is known."""
    was, becomes = range_of(line.item), range_of(instead)
    if not was and not becomes:
        return []
    share = f"{number(share_percent, most=2)}\u202f% of the melt"
    ranges = (
        f"Melting range of {share}: {line.item} {was or 'not known'}, "
        f"{instead} {becomes or 'not known'}."
    )
    return [ranges, TRY_IT]


def range_of(item: Item) -> str:
    """The item's melting range in words; empty when its profile gives none."""
    profile = profile_of(item)
    return profile.melting_range if profile else ""
