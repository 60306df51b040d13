"""A rack is a place: its lots are found, scanned and counted like all others."""

import secrets
from collections.abc import Callable, Collection
from datetime import datetime

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.saving.new_tokens import derive_key
from workshop.core.saving.with_history import save_with_history
from workshop.curing.models import Rack, RackPlace, Standing
from workshop.curing.release_readiness import cures_of
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, Place, PlaceKind, Placing

Draw = Callable[[int], int]


@transaction.atomic
def save_rack(
    *,
    name: str,
    is_active: bool = True,
    by: User,
    at: datetime,
    rack: Rack | None = None,
    draw: Draw = secrets.randbelow,
) -> Rack:
    """Enter a rack or change its words, and those of the place that it is."""
    kept = rack or Rack()
    kept.name, kept.is_active = name, is_active
    save_with_history(kept, by=by, at=at)
    place = place_of(kept, by=by, at=at, draw=draw)
    if (place.name, place.is_active) != (name, is_active):
        _refuse_taken(name, place)
        ledger.save_place(
            name=name, kind=PlaceKind.RACK, is_active=is_active, place=place, by=by, at=at
        )
    return kept


def place_of(rack: Rack, *, by: User, at: datetime, draw: Draw = secrets.randbelow) -> Place:
    """The place that a rack is, entered now if it had none."""
    known = RackPlace.objects.filter(rack=rack).select_related("place").first()
    if known:
        return known.place
    place = Place.objects.filter(name=rack.name, kind=PlaceKind.RACK, as_rack=None).first()
    if place is None:
        _refuse_taken(rack.name)
        place = ledger.save_place(
            name=rack.name,
            kind=PlaceKind.RACK,
            is_active=rack.is_active,
            by=by,
            at=at,
            draw=draw,
        )
    RackPlace.objects.create(rack=rack, place=place)
    return place


def _refuse_taken(name: str, but: Place | None = None) -> None:
    named = Place.objects.filter(name=name).first()
    if named is not None and named != but:
        raise ActionRefused("There is already a place of this name.", field="name")


def rack_at(place: Place, *, by: User, at: datetime) -> Rack:
    """The rack that a place for curing is, entered now if it was none yet."""
    known = RackPlace.objects.filter(place=place).select_related("rack").first()
    if known:
        return known.rack
    rack = Rack.objects.filter(name=place.name, as_place=None).first() or save_with_history(
        Rack(name=place.name, is_active=place.is_active), by=by, at=at
    )
    RackPlace.objects.create(rack=rack, place=place)
    return rack


@transaction.atomic
def save_place(
    *,
    name: str,
    kind: PlaceKind,
    is_active: bool = True,
    by: User,
    at: datetime,
    place: Place | None = None,
) -> Place:
    """Enter a place or change its words; one for curing is a rack, and stays one."""
    known = RackPlace.objects.filter(place=place).select_related("rack").first() if place else None
    if known and kind != PlaceKind.RACK:
        raise ActionRefused("Soap stands on this rack: it stays one.", field="kind")
    kept = ledger.save_place(name=name, kind=kind, is_active=is_active, place=place, by=by, at=at)
    if kind == PlaceKind.RACK:
        rack = known.rack if known else rack_at(kept, by=by, at=at)
        if (rack.name, rack.is_active) != (kept.name, kept.is_active):
            rack.name, rack.is_active = kept.name, kept.is_active
            save_with_history(rack, by=by, at=at)
    return kept


@transaction.atomic
def move(
    lots: Collection[Lot], place: Place, *, spot: str = "", by: User, at: datetime, token: str
) -> list[Placing]:
    """Put lots at a place; what was poured here stands on the rack from then on, if it is one."""
    made = ledger.put_in_place(lots, place, spot=spot, by=by, at=at, token=token)
    if place.kind == PlaceKind.RACK:
        rack = rack_at(place, by=by, at=at)
        for cure in cures_of(lots):
            Standing.objects.get_or_create(
                token=derive_key(token, f"rack {cure.lot.pk}"),
                defaults={
                    "lot": cure.lot,
                    "rack": rack,
                    "place": spot.strip(),
                    "bars": cure.standing.bars if cure.standing else None,
                    "by": by,
                    "at": at,
                },
            )
    return made
