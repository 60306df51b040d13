"""What is in a bought material: its INCI constituents with their exact shares."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import cast

from workshop.materials.models import (
    LABEL_SCHEME,
    BlendPart,
    MaterialStatus,
    OrganicScheme,
    OrganicStatus,
    Profile,
)
from workshop.rules.dates.validity import in_force
from workshop.rules.ingredients.composition import Constituent
from workshop.rules.ingredients.composition import Kind as ConstituentKind
from workshop.rules.ingredients.organic_share import BY_RULE, Limits

Shares = dict[Constituent, Fraction]


def shares_of_profile(
    profile: Profile, *, on: date, is_covered: bool, scheme: str = LABEL_SCHEME
) -> Shares:
    """The shares in a material as bought on a day, organic parts only if they are covered.

    What is not organic has the status that held under the scheme on that day.
    """
    parts: list[Profile | BlendPart] = list(profile.parts_on(on))
    statuses = statuses_on(profile, on=on, scheme=scheme)
    shares: Shares = {}
    for part in parts or [profile]:
        name = part.inci_name if isinstance(part, BlendPart) else ""
        constituent = _constituent(part, statuses.get(name), is_covered=is_covered)
        share = Fraction(part.share) / 100 if isinstance(part, BlendPart) else Fraction(1)
        shares[constituent] = shares.get(constituent, Fraction()) + share
    return shares


def statuses_on(
    profile: Profile, *, on: date, scheme: str = LABEL_SCHEME
) -> dict[str, OrganicStatus]:
    """What held of a material ("") and of each part of a blend on a day; from the rows at hand."""
    versions: dict[str, dict[date, OrganicStatus]] = {}
    for row in profile.organic_statuses.all():
        if row.scheme == scheme:
            versions.setdefault(row.part_name, {})[row.from_day] = row
    held = {name: in_force(rows, on) for name, rows in versions.items()}
    return {name: row for name, row in held.items() if row is not None}


def limits_of(scheme: str = LABEL_SCHEME) -> Limits:
    """From which share a scheme lets what be said; of labels, never less than their rule asks."""
    kept = OrganicScheme.objects.filter(code=scheme).first()
    limits = Limits(_plain(kept.organic_from), _plain(kept.made_with_from)) if kept else BY_RULE
    return limits.no_looser_than(BY_RULE) if scheme == LABEL_SCHEME else limits


def _plain(percent: Decimal) -> Decimal:
    """Without the noughts at its end."""
    return percent.normalize()


def scheme_choices() -> list[tuple[str, str]]:
    """The schemes to choose from; that of labels is there even before it is entered."""
    kept = dict(OrganicScheme.objects.values_list("code", "name"))
    return list(({LABEL_SCHEME: LABEL_SCHEME} | kept).items())


@dataclass(frozen=True)
class StatusRow:
    """A status as a page shows it: does it hold on the day, is its review due?"""

    row: OrganicStatus
    holds: bool
    is_due: bool


def status_rows(profile: Profile, *, on: date) -> list[StatusRow]:
    """Every status ever entered of a material and of the parts of a blend."""
    rows = list(profile.organic_statuses.select_related("evidence"))
    versions: dict[tuple[str, str], dict[date, OrganicStatus]] = {}
    for row in rows:
        versions.setdefault((row.scheme, row.part_name), {})[row.from_day] = row
    held = {in_force(found, on) for found in versions.values()}
    return [StatusRow(row, row in held, row in held and row.is_due(on)) for row in rows]


def _constituent(
    row: Profile | BlendPart, status: OrganicStatus | None, *, is_covered: bool
) -> Constituent:
    is_organic = row.is_organic and is_covered
    return Constituent(
        inci_name=row.inci_name,
        common_name=row.common_name,
        kind=cast(ConstituentKind, row.kind),
        is_organic=is_organic,
        is_nano=isinstance(row, Profile) and row.is_nano,
        soap_name=row.soap_name if isinstance(row, Profile) else "",
        status="" if is_organic else _status(row, status),
        prohibited_for="" if is_organic else _prohibited_for(status),
    )


def _prohibited_for(status: OrganicStatus | None) -> str:
    """In which way it is prohibited, as its status says; of any other status, nothing."""
    if status is None or status.status != MaterialStatus.PROHIBITED:
        return ""
    return status.annotation.strip().rstrip(".")


def _status(row: Profile | BlendPart, status: OrganicStatus | None) -> str:
    """What else it is: what can be bought as organic is agricultural, organic or not."""
    said = status.in_rules if status else ""
    if said and said != "organic":
        return said
    return "agricultural" if row.is_organic or said == "organic" else ""
