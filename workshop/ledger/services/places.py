"""Enter a place, and put lots there."""

import secrets
from collections.abc import Callable, Collection
from datetime import datetime

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.core.saving.locks import advisory_lock
from workshop.core.saving.new_tokens import derive_key
from workshop.core.saving.with_history import save_with_history
from workshop.ledger.models import Lot, Place, PlaceKind, Placing
from workshop.rules.codes.place_codes import make_place_code


@transaction.atomic
def save_place(
    *,
    name: str,
    kind: PlaceKind,
    is_active: bool = True,
    by: User,
    at: datetime,
    place: Place | None = None,
    draw: Callable[[int], int] = secrets.randbelow,
) -> Place:
    """Enter a place, or change its words; its code is given once and stays on its tag."""
    kept = place or Place()
    if not kept.code:
        advisory_lock("place code")
        kept.code = make_place_code(draw)
        while Place.objects.filter(code=kept.code).exists():
            kept.code = make_place_code(draw)
    kept.name, kept.kind, kept.is_active = name.strip(), kind, is_active
    return save_with_history(kept, by=by, at=at)


@transaction.atomic
def put_in_place(
    lots: Collection[Lot], place: Place, *, spot: str = "", by: User, at: datetime, token: str
) -> list[Placing]:
    """Say where lots are now: all of them, or none. The same token again answers as before."""
    check_idempotency(token, "placing", lots=[lot.pk for lot in lots], place=place, spot=spot)
    tokens = {lot: derive_key(token, lot.pk) for lot in lots}
    known = list(Placing.objects.filter(token__in=tokens.values()))
    if known:
        return known
    if not place.is_active:
        raise ActionRefused(f"{place} is out of use. Choose another place.", field="place")
    if not lots:
        raise ActionRefused("Scan at least one lot.", field="lots")
    return [
        Placing.objects.create(
            lot=lot, place=place, spot=spot.strip(), by=by, at=at, token=tokens[lot]
        )
        for lot in lots
    ]
