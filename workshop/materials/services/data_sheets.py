"""Keeping what a certificate of analysis or a data sheet says: allergens, saponification values."""

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal

from django.db import transaction

from workshop.core.models import User
from workshop.core.saving.with_history import save_with_history
from workshop.ledger.models import Item, Lot
from workshop.materials.models import AllergenContent, SoapValue


@transaction.atomic
def save_contents(
    of: Item | Lot, shares: Mapping[str, Decimal], *, by: User, at: datetime, source: str = ""
) -> list[AllergenContent]:
    """Replace the allergen figures of an item or a lot; the history keeps the former ones."""
    owner = {"lot": of} if isinstance(of, Lot) else {"item": of}
    former = {row.name: row for row in AllergenContent.objects.filter(**owner)}
    for name, row in former.items():
        if name not in shares:
            _remove(row, by=by, at=at)
    rows = []
    for name, share in shares.items():
        row = former.get(name) or AllergenContent(name=name, **owner)
        if name not in former or (row.share, row.source) != (share, source.strip()):
            row.share, row.source = share, source.strip()
            save_with_history(row, by=by, at=at)
        rows.append(row)
    return rows


@transaction.atomic
def save_soap_value(
    item: Item,
    value: Decimal | None,
    *,
    least: Decimal | None = None,
    most: Decimal | None = None,
    by: User,
    at: datetime,
) -> None:
    """Keep or remove the saponification value of a fat, and its range by the data sheet."""
    row = SoapValue.objects.filter(item=item).first()
    if value is None:
        if row is not None:
            _remove(row, by=by, at=at)
        return
    row = row or SoapValue(item=item)
    if (row.value, row.least, row.most) != (value, least, most):
        row.value, row.least, row.most = value, least, most
        save_with_history(row, by=by, at=at)


def _remove(row: AllergenContent | SoapValue, *, by: User, at: datetime) -> None:
    row._history_user = by  # type: ignore[union-attr]  # read by simple_history
    row._history_date = at  # type: ignore[union-attr]  # likewise
    row.delete()
