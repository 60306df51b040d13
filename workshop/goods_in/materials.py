"""Keeping what is bought: materials with their ingredient profile, and packaging."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from stdnum import casrn

from workshop.core import shown
from workshop.core.errors import Refused
from workshop.core.kept import keep_row
from workshop.core.models import User
from workshop.goods_in.models import NEVER_ORGANIC, BlendPart, Constituency, Profile, profile_of
from workshop.ledger.models import Item, Kind, Unit


@dataclass(frozen=True)
class Part:
    """One constituent of a bought blend; `share` is percent by weight."""

    inci_name: str
    share: Decimal
    common_name: str = ""
    kind: Constituency = Constituency.PLAIN
    is_organic: bool = False


@dataclass(frozen=True)
class Material:
    """An item bought and, unless it is packaging, what it is made of."""

    code: str
    name: str
    kind: Kind = Kind.MATERIAL
    is_active: bool = True
    inci_name: str = ""
    common_name: str = ""
    soap_name: str = ""
    cas: str = ""
    constituency: Constituency = Constituency.PLAIN
    is_organic: bool = False
    is_nano: bool = False
    density_g_per_ml: Decimal | None = None
    shelf_life_months: int | None = None
    storage: str = ""
    max_arrival_c: Decimal | None = None
    caution: str = ""
    parts: Sequence[Part] = ()


def material_of(item: Item) -> Material:
    """What is kept of an item now."""
    head = Material(item.code, item.name, Kind(item.kind), item.is_active)
    profile = profile_of(item)
    if profile is None:
        return head
    parts = [
        Part(row.inci_name, row.share, row.common_name, Constituency(row.kind), row.is_organic)
        for row in profile.parts.all()
    ]
    return replace(
        head,
        inci_name=profile.inci_name,
        common_name=profile.common_name,
        soap_name=profile.soap_name,
        cas=profile.cas,
        constituency=Constituency(profile.kind),
        is_organic=profile.is_organic,
        is_nano=profile.is_nano,
        density_g_per_ml=profile.density_g_per_ml,
        shelf_life_months=profile.shelf_life_months,
        storage=profile.storage,
        max_arrival_c=profile.max_arrival_c,
        caution=profile.caution,
        parts=parts,
    )


@transaction.atomic
def save_material(material: Material, *, by: User, at: datetime, item: Item | None = None) -> Item:
    """Keep a material (weighed in grams) or packaging (counted in pieces).

    Raises Refused with the field at fault; a blend's parts must add up to exactly 100 %.
    """
    row = item or Item(kind=material.kind, unit=_unit(material.kind))
    if row.kind != material.kind:
        raise Refused("An item stays what it is; enter a new one instead.", field="kind")
    row.code, row.name, row.is_active = material.code, material.name, material.is_active
    keep_row(row, by=by, at=at)
    if material.kind == Kind.MATERIAL:
        profile = _keep_profile(row, material, by=by, at=at)
        _keep_parts(profile, material.parts, by=by, at=at)
    return row


def _unit(kind: Kind) -> Unit:
    if kind not in (Kind.MATERIAL, Kind.PACKAGING):
        raise Refused("Only materials and packaging are bought.", field="kind")
    return Unit.GRAM if kind == Kind.MATERIAL else Unit.EACH


def _keep_profile(item: Item, material: Material, *, by: User, at: datetime) -> Profile:
    if not material.inci_name.strip():
        raise Refused("A material needs its INCI name, as a label lists it.", field="inci_name")
    profile = profile_of(item) or Profile(item=item)
    profile.inci_name = material.inci_name.strip()
    profile.common_name = material.common_name.strip()
    profile.soap_name = material.soap_name.strip()
    profile.cas = _checked_cas(material.cas)
    profile.kind = material.constituency
    profile.is_organic = material.is_organic
    profile.is_nano = material.is_nano
    profile.density_g_per_ml = material.density_g_per_ml
    profile.shelf_life_months = material.shelf_life_months
    profile.storage = material.storage.strip()
    profile.max_arrival_c = material.max_arrival_c
    profile.caution = material.caution.strip()
    return keep_row(profile, by=by, at=at)


def _checked_cas(text: str) -> str:
    """The CAS number with its hyphens, or nothing; its last digit must be the right one."""
    if not text.strip():
        return ""
    # The library closes up blanks and hyphens but refuses odd letters only by its own errors.
    if not casrn.is_valid(text):
        raise Refused(
            f"{text.strip()} is not a CAS number: its last digit does not fit the others."
            " Copy it again, such as 8001-25-0.",
            field="cas",
        )
    return str(casrn.compact(text))


def _keep_parts(profile: Profile, parts: Sequence[Part], *, by: User, at: datetime) -> None:
    """Make the blend's parts these, leaving those alone that stay as they are."""
    _refuse_odd_parts(parts)
    kept = {(row.inci_name, row.is_organic): row for row in profile.parts.all()}
    for part in parts:
        row = kept.pop((part.inci_name, part.is_organic), None) or BlendPart(profile=profile)
        row.inci_name, row.is_organic = part.inci_name, part.is_organic
        row.common_name, row.kind, row.share = part.common_name, part.kind, part.share
        keep_row(row, by=by, at=at)
    for row in kept.values():
        row._history_user = by  # type: ignore[attr-defined]  # read by simple_history
        row._history_date = at  # type: ignore[attr-defined]  # likewise
        row.delete()


def _refuse_odd_parts(parts: Sequence[Part]) -> None:
    total = sum((part.share for part in parts), Decimal(0))
    if parts and total != 100:
        raise Refused(
            f"The parts of the blend add up to {shown.number(total, most=4)} %;"
            " they must add up to exactly 100 %.",
            field="parts",
        )
    names = [(part.inci_name.casefold(), part.is_organic) for part in parts]
    if len(names) != len(set(names)):
        raise Refused("The blend names the same part twice; add them together.", field="parts")
    for part in parts:
        if part.is_organic and part.kind in NEVER_ORGANIC:
            raise Refused(
                f"{part.inci_name}: water, salt and alkali cannot be organic.", field="parts"
            )
