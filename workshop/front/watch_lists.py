"""The lists of Today in full, by their keys: who must do what about each row."""

from typing import Any

from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.text import Truncator

from workshop.core.access import WORKERS
from workshop.core.lists.columns import (
    CODE,
    Act,
    Amount,
    Column,
    Day,
    LotTag,
    Moment,
    Name,
    Operation,
    State,
)
from workshop.core.lists.listing import Listing, mentioning
from workshop.core.templatetags import tarebook as look
from workshop.counts.lists import DUE
from workshop.dispatch.lists import customer_page, dispatch_page
from workshop.kettle.lists import UNDER_WAY
from workshop.ledger.lists import lot_page, lot_state
from workshop.ledger.models import Lot
from workshop.packing.lists import RUNS_UNDER_WAY

LOT = LotTag("Lot", lambda lot: lot.shown_code, to=lot_page, order=("code",))
ITEM = Name("Item", lambda lot: lot.item, order=("item__name",))
ON_HAND = Amount(
    "On hand", lambda lot: lot.on_hand, unit=lambda lot: lot.item.unit, order=("on_hand",)
)


def _report(complaint: Any) -> str | SafeString:
    """What the authority was told of a serious event, or by when it is to be."""
    if not complaint.outcome:
        return ""
    if complaint.reported_on:
        return format_html("reported {}", look.day(complaint.reported_on))
    return format_html('<b class="stop">due {}</b>', look.day(complaint.report_due_on))


COMPLAINTS = Listing(
    columns=[
        Operation(
            "Complaint",
            str,
            to=lambda complaint: reverse("aftersales:complaint", args=[complaint.reference]),
            order=("reference",),
        ),
        Day("Received", lambda complaint: complaint.received_on, order=("received_on",)),
        Name("Product", lambda complaint: complaint.product or "not known"),
        Column("Nature", lambda complaint: complaint.get_nature_display(), order=("nature",)),
        Column("Report to the authority", _report),
        State(
            "State",
            lambda complaint: complaint.get_state_display(),
            key_of=lambda complaint: complaint.state,
            order=("state",),
        ),
    ],
    order=("-outcome", "received_on", "pk"),
    order_words="serious ones first",
    none="No complaint is open.",
    search=lambda rows, text: rows.mentioning(text),
    search_word="Words, code or customer",
    file="open-complaints",
)


def _weighed(lot: Any) -> str | SafeString:
    return look.moment(lot.weighed_at) if lot.weighed_at else "never"


RACKS = Listing(
    columns=[
        LotTag(
            "Lot",
            lambda lot: lot.shown_code,
            to=lambda lot: reverse("curing:lot", args=[lot.code]),
            order=("code",),
        ),
        Name("Soap", lambda lot: lot.item, order=("item__name",)),
        Day("Poured", lambda lot: lot.made_on, order=("made_on",)),
        Column("Last weighed", _weighed, order=("weighed_at",)),
        Amount("On the rack", lambda lot: lot.on_hand, order=("on_hand",)),
        State("State", lambda lot: "weighing due", key_of=lambda lot: "weighing due"),
    ],
    order=("waits_since", "pk"),
    order_words="longest waiting first",
    none="No rack is due for weighing.",
    search=mentioning("code", "item__name"),
    search_word="Lot or soap",
    file="racks-to-weigh",
)
BELOW_ZERO = Listing(
    columns=[
        LOT,
        ITEM,
        Amount(
            "On the book",
            lambda lot: lot.on_hand,
            unit=lambda lot: lot.item.unit,
            order=("on_hand",),
        ),
        Act(
            "Next",
            lambda lot: "Count",
            to=lambda lot: reverse("ledger:count", args=[lot.code]),
            roles=tuple(WORKERS),
        ),
    ],
    order=("pk",),
    order_words="oldest first",
    none="No lot is below zero.",
    search=mentioning("code", "item__name"),
    search_word="Lot or item",
    file="below-zero",
)
ROUNDS = Listing(
    columns=[
        Operation("Round", str, to=lambda one: reverse("counts:round", args=[one]), order=("pk",)),
        Name("Lots", lambda one: one.chosen_by),
        Moment("Begun", lambda one: one.begun_at, order=("begun_at",)),
        Column("Counted", lambda one: f"{one.seen} of {one.asked}", place="c3 num"),
        Act(
            "Next",
            lambda one: "Count",
            to=lambda one: reverse("counts:count", args=[one]),
            roles=tuple(WORKERS),
        ),
    ],
    order=("pk",),
    order_words="oldest first",
    none="No round of counting is under way.",
    search=mentioning("reference", "place__name"),
    search_word="Round or place",
    file="rounds-under-way",
)


def _why(lot: Any) -> str:
    return Truncator(lot.last_reason or "").chars(120)


AWAITING = Listing(
    columns=[
        LOT,
        ITEM,
        Day("Received or made", lambda lot: lot.made_on, order=("made_on",)),
        Operation(
            "Record",
            lambda lot: lot.origin,
            to=lambda lot: f"{reverse('front:scan')}?q={lot.origin.reference}",
            below=lambda lot: lot.origin.get_kind_display(),
            place="",
        ),
        ON_HAND,
        lot_state(),
        Column("Reason", _why),
    ],
    order=("pk",),
    order_words="longest waiting first",
    none="No lot awaits release.",
    search=mentioning("code", "item__name", "origin__reference"),
    search_word="Lot, item or record",
    days="made_on",
    days_word="Received or made from",
    file="awaiting-release",
)
LATE = Listing(
    columns=[
        Operation("Dispatch", str, to=dispatch_page, order=("pk",)),
        Name(
            "Customer",
            lambda dispatch: dispatch.customer,
            to=lambda dispatch: customer_page(dispatch.customer),
            order=("customer__name",),
        ),
        Column("Telephone", lambda dispatch: dispatch.customer.telephone),
        Day("Sent on", lambda dispatch: dispatch.sent_on, order=("sent_on",)),
        Amount("Units", lambda dispatch: dispatch.units_sent, unit="each"),
    ],
    order=("sent_on", "pk"),
    order_words="longest on the way first",
    none="No dispatch is overdue.",
    search=lambda rows, text: rows.mentioning(text),
    search_word="Customer or reference",
    file="overdue-dispatches",
)


def _past(lot: Lot) -> str | SafeString:
    is_past = lot.best_before is not None and lot.best_before < timezone.localdate()
    return look.state("expired", "past") if is_past else ""


EXPIRING = Listing(
    columns=[
        LOT,
        ITEM,
        Day("Best before", lambda lot: lot.best_before, below=_past, order=("best_before",)),
        ON_HAND,
        lot_state(),
    ],
    order=("best_before", "pk"),
    order_words="soonest to expire first",
    none="No lot in stock expires within 60 days.",
    search=mentioning("code", "item__name"),
    search_word="Lot or item",
    days="best_before",
    days_word="Best before, from",
    file="expiring",
)


def _lapse(certificate: Any) -> str:
    return "expired" if certificate.valid_to < timezone.localdate() else "renewal due"


LAPSING = Listing(
    columns=[
        Name(
            "Certificate",
            lambda certificate: certificate.number,
            to=lambda certificate: reverse("goods_in:certificate", args=[certificate.pk]),
            below=lambda certificate: certificate.certifier,
            order=("certifier", "number"),
            place=CODE,
        ),
        Name(
            "Supplier",
            lambda certificate: certificate.supplier,
            to=lambda certificate: reverse("goods_in:supplier", args=[certificate.supplier_id]),
            order=("supplier__name",),
        ),
        Day("Valid to", lambda certificate: certificate.valid_to, order=("valid_to",)),
        State("State", _lapse, key_of=_lapse),
    ],
    order=("valid_to", "pk"),
    order_words="soonest to expire first",
    none="No certificate is due for renewal.",
    search=mentioning("number", "certifier", "supplier__name"),
    search_word="Certifier, number or supplier",
    file="certificates-to-renew",
)


def _review(supplier: Any) -> str:
    return "review due" if supplier.review_due <= timezone.localdate() else "due soon"


REVIEWS = Listing(
    columns=[
        Name(
            "Supplier",
            str,
            to=lambda supplier: reverse("goods_in:review-supplier", args=[supplier.pk]),
            order=("name",),
            place=CODE,
        ),
        Column("Contact", lambda supplier: supplier.contact),
        Column("Telephone", lambda supplier: supplier.telephone),
        Day("Next review", lambda supplier: supplier.review_due, order=("review_due",)),
        State("State", _review, key_of=_review),
    ],
    order=("review_due", "pk"),
    order_words="soonest due first",
    none="No supplier is to be reviewed within 60 days.",
    search=mentioning("name", "contact"),
    search_word="Name or contact",
    file="suppliers-to-review",
)

WATCH_LISTS = {
    "complaints": COMPLAINTS,
    "under-way": UNDER_WAY,
    "packing": RUNS_UNDER_WAY,
    "racks": RACKS,
    "below-zero": BELOW_ZERO,
    "rounds": ROUNDS,
    "awaiting": AWAITING,
    "late": LATE,
    "expiring": EXPIRING,
    "due-for-counting": DUE,
    "lapsing": LAPSING,
    "reviews": REVIEWS,
}
