"""Keeping organic schemes, what their lists name, and what a material is under them."""

import csv
from datetime import date, datetime
from decimal import Decimal
from typing import TypeVar

from django.conf import settings
from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.files.uploads import CheckedFile, store_upload
from workshop.core.models import User
from workshop.core.saving.with_history import save_with_history
from workshop.materials.models import (
    LABEL_SCHEME,
    ListEntry,
    MaterialStatus,
    OrganicScheme,
    OrganicStatus,
)

Row = TypeVar("Row", OrganicScheme, ListEntry)
# What comes with the program, each line with its source and the day of the text.
KNOWN_RULES = settings.BASE_DIR / "fixtures" / "organic"


@transaction.atomic
def enter_known_rules(*, by: User, at: datetime) -> int:
    """Enter the schemes and lists that come with the program, where they are not entered yet."""
    entered = 0
    for row in _rows("schemes.csv"):
        shares = {
            name: Decimal(row[name]) for name in ("organic_from", "made_with_from", "tolerance")
        }
        scheme = OrganicScheme(**{**row, **shares, "known_on": date.fromisoformat(row["known_on"])})
        if not OrganicScheme.objects.filter(code=scheme.code).exists():
            save_with_history(scheme, by=by, at=at)
            entered += 1
    schemes = {one.code: one for one in OrganicScheme.objects.all()}
    there = set(ListEntry.objects.values_list("scheme__code", "name"))
    for row in _rows("national_list.csv"):
        if (row["scheme"], row["name"]) in there:
            continue
        values = {"scheme": schemes[row["scheme"]], "known_on": date.fromisoformat(row["known_on"])}
        save_with_history(ListEntry(**{**row, **values}), by=by, at=at)
        entered += 1
    return entered


def _rows(name: str) -> list[dict[str, str]]:
    with (KNOWN_RULES / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


@transaction.atomic
def save_in_list(row: Row, *, by: User, at: datetime) -> Row:
    """Keep a scheme, or a substance that its list names."""
    return save_with_history(row, by=by, at=at)


@transaction.atomic
def save_status(
    row: OrganicStatus, *, by: User, at: datetime, evidence: CheckedFile | None = None
) -> OrganicStatus:
    """Keep what a material, or a part of a blend, is under a scheme from a day on.

    Raises ActionRefused with the field at fault: a
    scheme or a part that is not there, or an organic status of what is not kept as bought organic.
    """
    if row.scheme != LABEL_SCHEME and not OrganicScheme.objects.filter(code=row.scheme).exists():
        raise ActionRefused("Choose a scheme that is kept here.", field="scheme")
    named = {part.inci_name: part.is_organic for part in row.profile.parts.all()}
    if row.part_name and row.part_name not in named:
        raise ActionRefused("Choose a part that the blend has.", field="part_name")
    is_organic = named[row.part_name] if row.part_name else row.profile.is_organic
    if row.status == MaterialStatus.ORGANIC and not is_organic:
        raise ActionRefused(
            "It is not kept as bought organic: change that on the material first, so that each lot "
            "is asked for its certificate.",
            field="status",
        )
    if evidence is not None:
        row.evidence = store_upload(evidence, by=by, at=at)
    return save_with_history(row, by=by, at=at)
