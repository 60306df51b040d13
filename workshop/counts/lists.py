"""The lists of counts: rounds that are over, the classes of items, what is due, and places."""

from collections.abc import Sequence
from typing import Any

from django.db.models import Q
from django.urls import reverse

from workshop.core.lists.columns import (
    CODE,
    Amount,
    Column,
    Day,
    Figure,
    LotTag,
    Moment,
    Name,
    Operation,
    day_of,
)
from workshop.core.lists.listing import Choice, Listing, Pick, mentioning
from workshop.counts.models import AbcClass
from workshop.ledger.lists import item_page, lot_page
from workshop.ledger.models import Lot, PlaceKind, Placing

ROUNDS = Listing(
    columns=[
        Operation("Round", str, to=lambda one: reverse("counts:round", args=[one]), order=("pk",)),
        Moment("Begun", lambda one: one.begun_at, order=("begun_at",)),
        Name("Lots", lambda one: one.chosen_by),
        Figure("Asked for", lambda one: one.asked, order=("asked",)),
        Figure("Counted", lambda one: one.seen, order=("seen",)),
        Day("Ended", lambda one: day_of(one.end.at) if one.is_over else None),
    ],
    order=("-pk",),
    order_words="newest first",
    none="Nothing was counted in a round yet.",
    search=mentioning("reference", "place__name"),
    search_word="Round or place",
    picks=[
        Pick("open", "Under way", Q(end=None), "way"),
        Pick("over", "Over", Q(end__isnull=False), "good"),
    ],
    file="count-rounds",
)

DUE = Listing(
    columns=[
        LotTag("Lot", lambda lot: lot.shown_code, to=lot_page, order=("code",)),
        Name("Item", lambda lot: lot.item.name, to=lambda lot: item_page(lot.item)),
        Day("Received or made", lambda lot: lot.made_on, order=("made_on",)),
        Amount("On the book", lambda lot: lot.on_hand, unit=lambda lot: lot.item.unit),
    ],
    order=("made_on", "pk"),
    order_words="oldest first",
    none="Nothing is due for counting.",
    search=mentioning("code", "item__name"),
    search_word="Lot or item",
    file="due-for-counting",
)


def _value(row: Any) -> Any:
    return round(row.used_value, 2)


CLASSES = Listing(
    columns=[
        Name("Item", lambda row: row.item.name, to=lambda row: item_page(row.item), place=CODE),
        Column("Class", lambda row: row.abc_class, order=("abc_class",), place="c2"),
        Figure("Used in the year, at cost", _value, order=("used_value",), place="c3"),
    ],
    order=("-used_value", "pk"),
    order_words="what costs most first",
    none="No classes are calculated yet: everything is counted once a year.",
    search=mentioning("item__name", "item__code"),
    choices=[Choice("class", "Class", AbcClass.choices, "all classes", "abc_class")],
    file="classes",
)


def place_page(place: Any) -> str:
    return reverse("counts:place", args=[place.code])


PLACES = Listing(
    columns=[
        Column("Code", lambda one: one.code, to=place_page, order=("code",), place="c1 code"),
        Name("Place", lambda one: one.name, to=place_page, order=("name",)),
        Column("Kind", lambda one: one.get_kind_display(), order=("kind",)),
        Figure("Lots there", lambda one: one.held, place="c3"),
        Column("In use", lambda one: "yes" if one.is_active else "no"),
    ],
    order=("name",),
    order_words="by name",
    none="No place has been entered yet.",
    search=mentioning("name", "code"),
    choices=[Choice("kind", "Kind", PlaceKind.choices, "all kinds")],
    file="places",
)


def _with_spots(lots: Sequence[Lot]) -> list[tuple[Lot, Placing]]:
    """Each lot with where it was put last."""
    rows = Placing.objects.of_now().filter(lot__in=[lot.pk for lot in lots])
    put = {row.lot_id: row for row in rows}
    return [(lot, put[lot.pk]) for lot in lots]


AT_A_PLACE = Listing(
    columns=[
        LotTag(
            "Lot",
            lambda pair: pair[0].shown_code,
            to=lambda pair: lot_page(pair[0]),
            order=("code",),
        ),
        Name("Item", lambda pair: pair[0].item, order=("item__name",)),
        Amount(
            "On hand",
            lambda pair: pair[0].on_hand,
            unit=lambda pair: pair[0].item.unit,
            order=("on_hand",),
        ),
        Column("Where exactly", lambda pair: pair[1].spot),
        Moment("Since", lambda pair: pair[1].at),
    ],
    order=("item__name", "pk"),
    order_words="by item",
    none="No lot in stock is noted here.",
    search=mentioning("code", "item__name"),
    search_word="Lot or item",
    told=_with_spots,
    file="lots-at-a-place",
)
