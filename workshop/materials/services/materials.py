"""Keeping what is bought: materials with their ingredient profile, and packaging."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.db.models import Max, QuerySet
from stdnum import casrn

from workshop.core import formatting
from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.saving.with_history import save_with_history
from workshop.ledger.models import Item, ItemKind, Unit
from workshop.materials.models import (
    ALWAYS,
    BlendPart,
    Constituency,
    Profile,
    profile_of,
    soap_value_of,
)
from workshop.materials.saponification import is_lye
from workshop.materials.services.blends import BlendComponent as BlendComponent
from workshop.materials.services.blends import keep_parts, latest_parts
from workshop.materials.services.data_sheets import save_soap_value

LEAST_VALUE, MOST_VALUE = 50, 400


@dataclass(frozen=True)
class Material:
    """An item bought and, unless it is packaging, what it is made of."""

    code: str
    name: str
    kind: ItemKind = ItemKind.MATERIAL
    is_active: bool = True
    inci_name: str = ""
    common_name: str = ""
    soap_name: str = ""
    soap_value: Decimal | None = None
    soap_least: Decimal | None = None
    soap_most: Decimal | None = None
    cas: str = ""
    constituency: Constituency = Constituency.PLAIN
    is_organic: bool = False
    is_nano: bool = False
    density_g_per_ml: Decimal | None = None
    shelf_life_months: int | None = None
    storage: str = ""
    max_arrival_c: Decimal | None = None
    melting_from_c: Decimal | None = None
    melting_to_c: Decimal | None = None
    caution: str = ""
    parts: Sequence[BlendComponent] = ()


def material_of(item: Item) -> Material:
    """What is kept of an item now, a blend with the parts entered for the latest day."""
    head = Material(item.code, item.name, ItemKind(item.kind), item.is_active)
    profile = profile_of(item)
    if profile is None:
        return head
    binds = soap_value_of(item)
    return replace(
        head,
        soap_value=binds.value if binds else None,
        soap_least=binds.least if binds else None,
        soap_most=binds.most if binds else None,
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
        melting_from_c=profile.melting_from_c,
        melting_to_c=profile.melting_to_c,
        caution=profile.caution,
        parts=latest_parts(profile),
    )


def records_of_profile(item: Item) -> list[QuerySet[Any]]:
    """The history of what an item is made of: its profile, and the parts of a blend."""
    profile = profile_of(item)
    if profile is None:
        return []
    records: Any = BlendPart
    return [profile.history.all(), records.history.filter(profile_id=profile.pk)]


@transaction.atomic
def save_material(material: Material, *, by: User, at: datetime, item: Item | None = None) -> Item:
    """Keep a material (weighed in grams) or packaging (counted in pieces).

    Other parts than those kept are a correction of the latest set, which holds from the first lot
    unless it was started on a day. Raises ActionRefused with the field at fault; a blend's parts
    must add up to exactly 100 %.
    """
    row = item or Item(kind=material.kind, unit=_unit(material.kind))
    if row.kind != material.kind:
        raise ActionRefused("An item stays what it is; enter a new one instead.", field="kind")
    row.code, row.name, row.is_active = material.code, material.name, material.is_active
    save_with_history(row, by=by, at=at)
    if material.kind == ItemKind.MATERIAL:
        profile = _keep_profile(row, material, by=by, at=at)
        _keep_soap_value(row, material, by=by, at=at)
        latest = profile.parts.aggregate(day=Max("from_day"))["day"] or ALWAYS
        keep_parts(profile, material.parts, from_day=latest, by=by, at=at)
    return row


def _unit(kind: ItemKind) -> Unit:
    if kind not in (ItemKind.MATERIAL, ItemKind.PACKAGING):
        raise ActionRefused("Only materials and packaging are bought.", field="kind")
    return Unit.GRAM if kind == ItemKind.MATERIAL else Unit.EACH


def _keep_profile(item: Item, material: Material, *, by: User, at: datetime) -> Profile:
    if not material.inci_name.strip():
        raise ActionRefused(
            "A material needs its INCI name, as a label lists it.", field="inci_name"
        )
    profile = profile_of(item) or Profile(item=item)
    profile.inci_name = material.inci_name.strip()
    profile.common_name = material.common_name.strip()
    profile.soap_name = material.soap_name.strip()
    profile.cas = _checked_cas(material.cas)
    profile.kind = material.constituency
    _refuse_hidden_lye(profile)
    profile.is_organic = material.is_organic
    profile.is_nano = material.is_nano
    profile.density_g_per_ml = material.density_g_per_ml
    profile.shelf_life_months = material.shelf_life_months
    profile.storage = material.storage.strip()
    profile.max_arrival_c = material.max_arrival_c
    _validate_melting(material.melting_from_c, material.melting_to_c)
    profile.melting_from_c = material.melting_from_c
    profile.melting_to_c = material.melting_to_c
    profile.caution = material.caution.strip()
    return save_with_history(profile, by=by, at=at)


def _refuse_hidden_lye(profile: Profile) -> None:
    """Lye under another kind would slip past every stop."""
    if is_lye(profile) and profile.kind != Constituency.ALKALI:
        raise ActionRefused(
            f"{profile.inci_name} is lye: choose “alkali”, so that soaps are calculated with it.",
            field="constituency",
        )


def _keep_soap_value(item: Item, material: Material, *, by: User, at: datetime) -> None:
    value, least, most = material.soap_value, material.soap_least, material.soap_most
    _validate_soap_value(value, least, most)
    save_soap_value(item, value, least=least, most=most, by=by, at=at)


def _validate_soap_value(
    value: Decimal | None, least: Decimal | None, most: Decimal | None
) -> None:
    ends = [end for end in (least, most) if end is not None]
    if value is None and ends:
        raise ActionRefused("Give the usual value as well as its range.", field="soap_value")
    if any(one and not LEAST_VALUE <= one <= MOST_VALUE for one in (value, *ends)):
        raise ActionRefused(
            "A saponification value is in mg KOH per gram and lies between 50 and 400; olive oil "
            "is near 190. 0 says that it binds no lye.",
            field="soap_value",
        )
    if value is not None and (
        (least or value) > value or (value if most is None else most) < value
    ):
        raise ActionRefused(
            "The usual value lies between the lowest and the highest.", field="soap_value"
        )


def _validate_melting(low: Decimal | None, high: Decimal | None) -> None:
    if low is not None and high is not None and low > high:
        raise ActionRefused(
            f"A melting range goes upwards: {formatting.number(low)} °C is above "
            f"{formatting.number(high)} °C. Swap the two.",
            field="melting_to_c",
        )


def _checked_cas(text: str) -> str:
    """The CAS number with its hyphens, or nothing; its last digit must be the right one."""
    if not text.strip():
        return ""
    # The library closes up blanks and hyphens but refuses odd letters only by its own errors.
    if not casrn.is_valid(text):
        raise ActionRefused(
            f"{text.strip()} is not a CAS number: its last digit does not fit the others."
            " Copy it again, such as 8001-25-0.",
            field="cas",
        )
    return str(casrn.compact(text))
