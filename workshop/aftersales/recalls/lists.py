"""The lists of recalls and of drills."""

from collections.abc import Sequence
from decimal import Decimal

from django.db.models import Q
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from workshop.aftersales.models import Recall
from workshop.aftersales.recalls.scope import percents_of
from workshop.core.lists.columns import Column, Figure, Moment, Operation, State
from workshop.core.lists.listing import Listing, Pick, mentioning


def _lot(recall: Recall) -> SafeString:
    address = reverse("trace:lot", args=[recall.lot.code])
    return format_html(
        '<a class="lot" href="{}">{}</a> {}', address, recall.lot.shown_code, recall.lot.item
    )


def _class(recall: Recall) -> str | SafeString:
    if recall.hazard and not recall.is_classed:
        return format_html('{} <span class="quiet">our view</span>', recall.hazard_class)
    return recall.hazard_class


def _accounted(recall: Recall) -> Decimal | None:
    return percents_of(recall)[0]


def _reached(recall: Recall) -> Decimal | None:
    return percents_of(recall)[1]


def _reference(head: str) -> Operation:
    return Operation(
        head,
        str,
        to=lambda recall: reverse("aftersales:recall", args=[recall.reference]),
        order=("reference",),
    )


BEGUN = Moment("Begun", lambda recall: recall.started_at, order=("started_at",))
LOT = Column("Lot", _lot, order=("lot__code",))
SHARES: Sequence[Column] = [
    Figure("Accounted, %", _accounted),
    Figure("Reached, %", _reached),
]
SEARCH = mentioning("reference", "lot__code", "lot__item__name", "reason")

RECALLS = Listing(
    columns=[
        _reference("Recall"),
        BEGUN,
        LOT,
        Column("Why", lambda recall: recall.reason, place="words"),
        Column("Class", _class, order=("hazard",)),
        State(
            "State",
            lambda recall: "closed" if recall.is_closed else "open",
            key_of=lambda recall: "closed" if recall.is_closed else "on_hold",
            order=("closed_at",),
        ),
        *SHARES,
    ],
    order=("-started_at", "-pk"),
    order_words="newest first",
    none="There has been no recall. May it stay so.",
    search=SEARCH,
    search_word="Recall, lot or reason",
    picks=[
        Pick("open", "Open", Q(closed_at=None), "stop"),
        Pick("closed", "Closed", Q(closed_at__isnull=False), "good"),
    ],
    days="started_at",
    are_moments=True,
    days_word="Begun from",
    file="recalls",
)
DRILLS = Listing(
    columns=[
        _reference("Drill"),
        BEGUN,
        Column("By", lambda drill: drill.started_by),
        LOT,
        Column("Took, h:min:s", lambda drill: drill.took_shown, place="num nowrap"),
        Figure("Lots", lambda drill: drill.lots_count if drill.is_closed else None),
        *SHARES,
        State(
            "State",
            lambda drill: "done" if drill.is_closed else "clock running",
            key_of=lambda drill: "closed" if drill.is_closed else "under_way",
            order=("closed_at",),
        ),
    ],
    order=("-started_at", "-pk"),
    order_words="newest first",
    none="There has been no drill yet. The first takes a few minutes.",
    search=SEARCH,
    search_word="Drill, lot or reason",
    days="started_at",
    are_moments=True,
    days_word="Begun from",
    file="drills",
)
