"""What to think about before approving a version, and the cautions that go with making it.

Advice refuses nothing: the owner decides.
"""

from collections.abc import Iterator
from decimal import Decimal

from workshop.formulas.models import Line, Step, Version
from workshop.ledger.models import ItemKind
from workshop.materials.models import Constituency, Profile, profile_of
from workshop.materials.saponification import is_lye
from workshop.rules.kettle.order_of_addition import GoingIn, order_warnings
from workshop.rules.soap.lye import CAUTIONS

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
# Common practice, no source: essential oils are stirred in below 50 to 60 °C.
SCENT_AT_MOST_C = Decimal(60)


def warnings(version: Version) -> list[str]:
    """Sentences about what is allowed but odd; reads the lines with item and profile."""
    lines = list(version.lines.all())
    return [
        *order_warnings(going_in(version, lines)),
        *_not_ready(lines),
        *_without_a_name(lines),
        *_empty_organic_claim(version, lines),
    ]


def going_in(version: Version, lines: list[Line]) -> list[GoingIn]:
    """The lines as the rule of their order reads them, each with the steps of its phase."""
    steps = list(version.steps.all())
    return [_going_in(line, [step for step in steps if step.phase == line.phase]) for line in lines]


def _going_in(line: Line, steps: list[Step]) -> GoingIn:
    profile = profile_of(line.item)
    melts_to = profile.melting_to_c if profile else None
    warmest = max((step.from_c for step in steps if step.from_c is not None), default=None)
    return GoingIn(
        name=str(line.item),
        phase=line.phase,
        is_for_good=line.is_irreversible,
        melts_from_c=profile.melting_from_c if profile else None,
        melts_to_c=melts_to,
        needs_c=melts_to if warmest is None else warmest,
        at_most_c=_at_most_c(profile, steps, warmest),
    )


def _at_most_c(
    profile: Profile | None, steps: list[Step], warmest: Decimal | None
) -> Decimal | None:
    """What heat harms: a scent, and whatever is stirred in once the melt has cooled."""
    if warmest is not None:
        return None
    limits = [step.to_c for step in steps if step.to_c is not None]
    if profile and profile.kind == Constituency.FRAGRANCE:
        limits.append(SCENT_AT_MOST_C)
    return min(limits, default=None)


def _not_ready(lines: list[Line]) -> Iterator[str]:
    made_here = {line.item_id for line in lines if line.item.kind == ItemKind.BULK}
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
        if line.item.kind == ItemKind.MATERIAL and profile_of(line.item) is None:
            yield f"{line.item} has no INCI name yet, so no label can be written."


def _empty_organic_claim(version: Version, lines: list[Line]) -> Iterator[str]:
    bought = [profile for line in lines if (profile := profile_of(line.item))]
    made_here = any(line.item.kind == ItemKind.BULK for line in lines)
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
