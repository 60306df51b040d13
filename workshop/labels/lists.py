"""The label log: what was printed for which lot."""

from django.urls import reverse

from workshop.core.lists.columns import (
    FLAT,
    Amount,
    Column,
    Day,
    Figure,
    LotTag,
    Moment,
    Name,
    Time,
)
from workshop.core.lists.listing import Choice, Listing, mentioning
from workshop.labels.models import PrintKind
from workshop.ledger.lists import lot_state
from workshop.packing.lists import labels_act

PRINTS = Listing(
    columns=[
        Time("At", lambda print: print.at),
        Moment("When", lambda print: print.at, order=("at",), only=FLAT),
        LotTag(
            "Lot",
            lambda print: print.lot.shown_code,
            to=lambda print: reverse("labels:label", args=[print.lot.code]),
            order=("lot__code",),
        ),
        Name("Product", lambda print: print.lot.item, order=("lot__item__name",)),
        Figure("Labels", lambda print: print.count, order=("count",)),
        Column("What", lambda print: print.get_kind_display(), order=("kind",)),
        Column("By", lambda print: print.by),
        Column("Reason for reprint", lambda print: print.reason),
    ],
    order=("-at", "-pk"),
    order_words="newest first",
    none="No label was printed yet. Labels are printed from the page of a packing run.",
    search=mentioning("lot__code", "lot__item__name", "reason"),
    search_word="Lot, product or reason",
    choices=[Choice("kind", "What", PrintKind.choices, "all")],
    days="at",
    are_moments=True,
    days_word="Printed from",
    log=lambda print: print.at,
    file="label-log",
)
UNLABELLED = Listing(
    columns=[
        LotTag(
            "Lot",
            lambda lot: lot.shown_code,
            to=lambda lot: reverse("labels:label", args=[lot.code]),
            order=("code",),
        ),
        Name("Product", lambda lot: lot.item, order=("item__name",)),
        Day("Packed on", lambda lot: lot.made_on, order=("made_on",)),
        Amount("On hand", lambda lot: lot.on_hand, unit="each", order=("on_hand",)),
        lot_state(),
        labels_act(),
    ],
    order=("-pk",),
    order_words="newest first",
    none="Every lot packed lately has labels.",
    search=mentioning("code", "item__name"),
    search_word="Lot or product",
    file="lots-to-label",
)
