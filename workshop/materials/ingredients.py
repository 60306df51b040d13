"""What is in a bought material: its INCI constituents with their exact shares."""

from datetime import date
from fractions import Fraction
from typing import cast

from workshop.materials.models import BlendPart, Profile
from workshop.rules.ingredients.composition import Constituent
from workshop.rules.ingredients.composition import Kind as ConstituentKind

Shares = dict[Constituent, Fraction]


def shares_of_profile(profile: Profile, *, on: date, is_covered: bool) -> Shares:
    """The shares in a material as bought on a day, organic parts only if they are covered."""
    parts = profile.parts_on(on)
    if not parts:
        return {_constituent(profile, is_covered=is_covered): Fraction(1)}
    shares: Shares = {}
    for part in parts:
        constituent = _constituent(part, is_covered=is_covered)
        shares[constituent] = shares.get(constituent, Fraction()) + Fraction(part.share) / 100
    return shares


def _constituent(row: Profile | BlendPart, *, is_covered: bool) -> Constituent:
    return Constituent(
        inci_name=row.inci_name,
        common_name=row.common_name,
        kind=cast(ConstituentKind, row.kind),
        is_organic=row.is_organic and is_covered,
        is_nano=isinstance(row, Profile) and row.is_nano,
        soap_name=row.soap_name if isinstance(row, Profile) else "",
    )
