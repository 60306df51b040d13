"""What to think about before approving a version, and the cautions that go with making it.

Advice refuses nothing: the owner decides.
"""

from collections.abc import Iterator

from workshop.formulas.models import Line, Version
from workshop.goods_in.models import Constituency, profile_of
from workshop.goods_in.soap import is_lye
from workshop.ledger.models import Kind
from workshop.rules.lye import CAUTIONS

# The cautions are common practice, no source.
HOT = (
    "Hot oil and wax burn, and can catch fire. Heat gently in a water bath, never leave a melt "
    "alone, keep a lid within reach and never put water on burning oil."
)
KEEP_WATER_OUT = (
    "Keep water out of hot oil and wax: a drop spits and can boil over. Dry every tool and vessel "
    "first."
)
ESSENTIAL = (
    "Undiluted essential oils irritate skin and eyes and burn easily. Wear gloves, air the room, "
    "keep flames away, and keep to the dermal limits of your safety assessment."
)
LAST_WORD = (
    "These are the usual cautions of the trade. Your local rules and a qualified person have the "
    "last word."
)


def warnings(version: Version) -> list[str]:
    """Sentences about what is allowed but odd; reads the lines with item and profile."""
    lines = list(version.lines.all())
    return [
        *_too_early(lines),
        *_not_ready(lines),
        *_without_a_name(lines),
        *_empty_organic_claim(version, lines),
    ]


def _too_early(lines: list[Line]) -> Iterator[str]:
    for place, line in enumerate(lines):
        later = next((other for other in lines[place + 1 :] if not other.goes_in_for_good), None)
        if line.goes_in_for_good and later:
            yield (
                f"{line.item} is weighed before {later.item}, which could be corrected: "
                "an ingredient that cannot be taken back out goes late."
            )


def _not_ready(lines: list[Line]) -> Iterator[str]:
    made_here = {line.item_id for line in lines if line.item.kind == Kind.BULK}
    ready = set(
        Version.objects.approved()
        .filter(formula__item__in=made_here)
        .values_list("formula__item", flat=True)
    )
    for line in lines:
        if line.item_id in made_here - ready:
            yield f"There is no approved formula for {line.item} yet."
        if not line.item.is_active:
            yield f"{line.item} is no longer in use."


def _without_a_name(lines: list[Line]) -> Iterator[str]:
    for line in lines:
        if line.item.kind == Kind.MATERIAL and profile_of(line.item) is None:
            yield f"{line.item} has no INCI name yet, so no label can be written."


def _empty_organic_claim(version: Version, lines: list[Line]) -> Iterator[str]:
    bought = [profile for line in lines if (profile := profile_of(line.item))]
    made_here = any(line.item.kind == Kind.BULK for line in lines)
    if version.claims_organic and not made_here and not any(one.is_organic for one in bought):
        yield "The formula claims to be organic, but none of its ingredients is bought as organic."


def cautions(version: Version) -> list[str]:
    """The usual cautions that this version calls for, the last word always at the end."""
    steps = list(version.steps.all())
    profiles = [profile for line in version.lines.all() if (profile := profile_of(line.item))]
    called_for = {
        HOT: any(step.limits or step.keep_water_out for step in steps),
        KEEP_WATER_OUT: any(step.keep_water_out for step in steps),
        **dict.fromkeys(CAUTIONS, any(is_lye(profile) for profile in profiles)),
        ESSENTIAL: any(profile.kind == Constituency.FRAGRANCE for profile in profiles),
    }
    return [*(sentence for sentence, needed in called_for.items() if needed), LAST_WORD]
