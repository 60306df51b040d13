"""The lists of recalls and of drills, and of one the lots and the customers in full."""

from collections.abc import Sequence
from decimal import Decimal

from django.db.models import Q
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from workshop.aftersales.models import Recall, RecallLine
from workshop.aftersales.recalls.consignees import Consignee
from workshop.aftersales.recalls.scope import percents_of
from workshop.core.lists.columns import (
    Amount,
    Column,
    Figure,
    LotTag,
    Moment,
    Name,
    Operation,
    State,
)
from workshop.core.lists.listing import Choice, Listing, Pick, mentioning
from workshop.ledger.models import Status


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


# ---- one recall --------------------------------------------------------------------------------


def _unit(line: RecallLine) -> str:
    return str(line.lot.item.unit)


def _quantity(head: str, name: str) -> Amount:
    return Amount(head, lambda line: getattr(line, name), unit=_unit, place="")


def _not_looked(line: RecallLine) -> str:
    return "not looked" if line.found is None and line.on_hand > 0 else ""


def lots_of(recall: Recall) -> Listing:
    """Where every unit is; the one figure that must be nought comes first on a card."""
    found = Amount("Found", lambda line: line.found, below=_not_looked, unit=_unit, place="")
    return Listing(
        columns=[
            LotTag(
                "Lot",
                lambda line: line.lot.shown_code,
                to=lambda line: reverse("trace:lot", args=[line.lot.code]),
            ),
            Name("Item", lambda line: line.lot.item),
            State(
                "Status now",
                lambda line: line.lot.get_status_display(),
                key_of=lambda line: line.lot.status,
            ),
            _quantity("Made", "made"),
            _quantity("On hand", "on_hand"),
            *([found] if recall.is_closed else []),
            _quantity("On its way", "on_its_way"),
            _quantity("Customers", "arrived"),
            _quantity("Used", "used"),
            _quantity("Written off", "discarded"),
            _quantity("Lost at counts", "lost"),
            Amount("Not found", lambda line: line.missing, unit=_unit),
        ],
        order=(),
        none="No lot is affected.",
        search_word="Lot or item",
        choices=[Choice("status", "Status", Status.choices, "any", "lot__status")],
        file=f"{recall.reference}-lots",
    )


def _contact(buyer: Consignee) -> str:
    known = (buyer.customer.contact, buyer.customer.telephone, buyer.customer.email)
    return ", ".join(part for part in known if part)


def _out_of_reach(buyer: Consignee) -> str:
    if buyer.is_many:
        return "stands for many buyers"
    return "" if buyer.can_be_reached else "no contact known"


def _lots_sent(buyer: Consignee) -> str:
    return ", ".join(part.lot.shown_code for part in buyer.parts)


def _notified(buyer: Consignee) -> str:
    if buyer.is_told:
        return "notified"
    return "notified in part" if buyer.told else "not yet notified"


def customers_of(recall: Recall) -> Listing:
    """Who was sent how much and, in a recall, who has been notified."""
    talks = [
        State(
            "Notified",
            _notified,
            key_of=lambda buyer: "approved" if buyer.is_told else "on_hold",
        ),
        Moment("Notified at", lambda buyer: buyer.told.at if buyer.told else None),
        Column("Responded", lambda buyer: buyer.answer_said),
    ]
    return Listing(
        columns=[
            Name(
                "Customer",
                lambda buyer: buyer.customer,
                to=lambda buyer: reverse(
                    "aftersales:recall-customer", args=[recall.reference, buyer.customer.pk]
                ),
                place="c1",
            ),
            Column("Contact", _contact, below=_out_of_reach),
            Column("Lots", _lots_sent, place="words"),
            Amount("Sent", lambda buyer: buyer.sent, unit="each", place=""),
            Amount("Came back", lambda buyer: buyer.back, unit="each", place=""),
            Amount("On the way", lambda buyer: buyer.on_its_way or None, unit="each", place=""),
            Amount("Outstanding", lambda buyer: buyer.still_out, unit="each"),
            *([] if recall.is_drill else talks),
        ],
        order=(),
        none="Nobody was sent any of it.",
        search_word="Customer, contact or lot",
        file=f"{recall.reference}-customers",
    )
