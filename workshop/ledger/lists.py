"""The lists of stock: every item, and the lots of one."""

from typing import Any

from django.db.models import Q
from django.urls import reverse

from workshop.core.lists.columns import (
    CODE,
    NAME,
    Amount,
    Column,
    Day,
    LotTag,
    Moment,
    Name,
    Operation,
    State,
)
from workshop.core.lists.listing import Choice, Listing, Pick, mentioning
from workshop.ledger.models import Item, ItemKind, Lot, Posting, Status


def item_page(item: Any) -> str:
    return reverse("ledger:item", args=[item.code])


def lot_page(lot: Lot) -> str:
    return reverse("ledger:lot", args=[lot.code])


def lot_state() -> State:
    """How a lot stands."""
    return State(
        "State",
        lambda lot: lot.get_status_display(),
        key_of=lambda lot: lot.status,
        order=("status",),
    )


LOT_PICKS = [
    Pick("waiting", "Quarantine", Q(status=Status.QUARANTINE), "wait"),
    Pick("released", "Released", Q(status=Status.RELEASED), "good"),
    Pick("stopped", "On hold or rejected", Q(status__in=[Status.ON_HOLD, Status.REJECTED]), "stop"),
]

STOCK = Listing(
    columns=[
        Column("Code", lambda item: item.code, order=("code",), place="c1 code"),
        Name("Item", lambda item: item.name, to=item_page, order=("name",)),
        Column("Kind", lambda item: item.get_kind_display(), order=("kind", "name")),
        Amount(
            "On hand",
            lambda item: item.on_hand,
            unit=lambda item: item.unit,
            order=("on_hand",),
        ),
        Amount(
            "Released and in date",
            lambda item: item.available,
            unit=lambda item: item.unit,
            order=("available",),
            place="",
        ),
    ],
    order=("name", "pk"),
    order_words="by name",
    none="No item has been entered yet.",
    search=mentioning("name", "code"),
    choices=[Choice("kind", "Kind", ItemKind.choices, "all kinds")],
    file="stock",
)

LOTS = Listing(
    columns=[
        LotTag("Lot", lambda lot: lot.shown_code, to=lot_page, order=("code",)),
        Day("Received or made", lambda lot: lot.made_on, order=("made_on",)),
        Day("Best before", lambda lot: lot.best_before, order=("best_before",)),
        Amount(
            "On hand", lambda lot: lot.on_hand, unit=lambda lot: lot.item.unit, order=("on_hand",)
        ),
        lot_state(),
    ],
    order=("-pk",),
    order_words="newest first",
    none="Nothing on hand.",
    search=mentioning("code"),
    search_word="Lot code",
    picks=LOT_PICKS,
    days="best_before",
    days_word="Best before, from",
    file="lots",
)


def _what(posting: Posting) -> str:
    kind = posting.operation.get_kind_display().capitalize()
    return f"{kind}, taken back" if posting.corrects_id else kind


POSTED_IN = [
    Moment("When", lambda posting: posting.at, order=("at",), place=CODE),
    LotTag(
        "Lot",
        lambda posting: posting.lot.shown_code,
        to=lambda posting: reverse("trace:lot", args=[posting.lot.code]),
        order=("lot__code",),
        place="",
    ),
    Operation(
        "Record",
        lambda posting: posting.operation,
        to=lambda posting: f"{reverse('front:scan')}?q={posting.operation.reference}",
        order=("operation__reference",),
        place=NAME,
    ),
    Column("What", _what),
    Column("By", lambda posting: posting.by),
]


def postings_list(item: Item, *, of_one_lot: bool = False) -> Listing:
    """The postings that a figure is the sum of."""
    named = POSTED_IN[:1] + POSTED_IN[2:] if of_one_lot else POSTED_IN
    return Listing(
        columns=[
            *named,
            Amount("Change", lambda posting: posting.quantity, unit=item.unit, order=("quantity",)),
            Column("Why", lambda posting: posting.reason),
        ],
        order=("at", "pk"),
        order_words="earliest first",
        none="No posting: the figure is nothing.",
        search=mentioning("operation__reference", "lot__code", "reason", "by__first_name"),
        search_word="Record, lot, reason or name",
        days="at",
        are_moments=True,
        days_word="Posted from",
        file="postings",
    )
