"""The list of every lot there was, to trace one of them."""

from django.urls import reverse
from django.utils.html import format_html

from workshop.core.lists.columns import Column, Day, LotTag, Name
from workshop.core.lists.listing import Choice, Listing, mentioning
from workshop.ledger.lists import LOT_PICKS, lot_state
from workshop.ledger.models import ItemKind

TRACED = Listing(
    columns=[
        LotTag(
            "Lot",
            lambda lot: lot.shown_code,
            to=lambda lot: reverse("trace:lot", args=[lot.code]),
            order=("code",),
        ),
        Name("Item", lambda lot: lot.item, order=("item__name",)),
        Day("Received or made", lambda lot: lot.made_on, order=("made_on",)),
        Column(
            "By",
            lambda lot: format_html(
                '<span class="nowrap">{} {}</span>', lot.origin.get_kind_display(), lot.origin
            ),
        ),
        Day("Best before", lambda lot: lot.best_before, order=("best_before",)),
        lot_state(),
    ],
    order=("-pk",),
    order_words="newest first",
    none="There is no lot in the book yet. The first comes in at goods-in.",
    search=mentioning("code", "item__name", "item__code", "origin__reference"),
    search_word="Lot, item or operation",
    picks=LOT_PICKS,
    choices=[Choice("kind", "Kind", ItemKind.choices, "all kinds", "item__kind")],
    days="made_on",
    days_word="Received or made from",
    file="lots",
)
