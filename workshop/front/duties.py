"""What falls due on a day: what the law sets a day for comes first, then by the day."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.urls import reverse
from django.utils import timezone

from workshop.aftersales.models import Complaint
from workshop.core import formatting
from workshop.core.formatting import with_unit
from workshop.curing.release_readiness import ROUND, Cure, due_on_racks
from workshop.dispatch.models import Dispatch
from workshop.dossier.notifications import renewals_due
from workshop.front import dashboard_lists as lists
from workshop.ledger.models import Lot, Unit

OF_A_KIND = 4
MOST_SHOWN = 8


@dataclass(frozen=True)
class Duty:
    """One thing to do by a day: a sentence of what leads to `address`, `about` it, and the act."""

    day: date
    code: str
    sentence: str
    address: str
    about: str
    act: str
    act_address: str
    is_statutory: bool = False
    is_lot: bool = False


def _reports(today: date) -> Iterator[Duty]:
    """Serious complaints that no authority was told of yet."""
    rows = Complaint.objects.to_report().select_related("product")
    for row in rows.order_by("received_on", "pk")[:OF_A_KIND]:
        address = reverse("aftersales:complaint", args=[row.reference])
        yield Duty(
            row.report_due_on,
            row.reference,
            "is to be reported to the authority",
            address,
            f"{row.get_outcome_display().capitalize()}, {row.product or 'product not known'}, "
            f"received {formatting.day(row.received_on)}. The law sets the day.",
            "Write the report",
            address,
            is_statutory=True,
        )


def _renewals(today: date) -> Iterator[Duty]:
    """Listings and registrations with an authority, as product files date them."""
    for name, day, product in renewals_due(today + lists.HORIZON)[:OF_A_KIND]:
        address = reverse("dossier:file", args=[product.item.code])
        yield Duty(
            day, name, f"is due for {product}", address, "The law sets the day.",
            "Open the product file", address, is_statutory=True,
        )  # fmt: skip


def _late(today: date) -> Iterator[Duty]:
    rows: list[Dispatch] = list(lists.late(today)[:OF_A_KIND])
    for row in rows:
        address = reverse("dispatch:dispatch", args=[row.operation.reference])
        days = (today - row.sent_on).days
        telephone = f" Telephone {row.customer.telephone}." if row.customer.telephone else ""
        yield Duty(
            row.sent_on,
            row.operation.reference,
            f"is overdue: ask {row.customer}",
            address,
            f"{formatting.number(row.units_sent)} units sent {days} days ago, no word of arrival."
            + telephone,
            "Note the answer",
            address,
        )


def _cures(cures: list[Cure], today: date) -> Iterator[Duty]:
    dated = [cure for cure in cures if cure.ready and cure.ready <= today + lists.HORIZON]
    for cure in dated[:OF_A_KIND]:
        address = reverse("curing:lot", args=[cure.lot.code])
        lacking = len(cure.unmet(max(today, cure.ready or today)))
        about = f"{lacking} thing{'s' if lacking > 1 else ''} before release." if lacking else ""
        yield Duty(
            cure.ready or today,
            cure.lot.shown_code,
            f"finishes curing: {cure.lot.item}",
            address,
            about or "Nothing else before release.",
            "Tests and weights",
            address,
            is_lot=True,
        )


def _amount(lot: Lot) -> str:
    pieces = " pcs" if lot.item.unit == Unit.EACH else ""
    return f"{with_unit(lot.on_hand, lot.item.unit)}{pieces}"


def _expiring(today: date) -> Iterator[Duty]:
    for lot in lists.expiring(today)[:OF_A_KIND]:
        address = reverse("ledger:lot", args=[lot.code])
        day = lot.best_before or today  # each of these has a date
        verb = "expired" if day < today else "expires"
        yield Duty(
            day,
            lot.shown_code,
            f"{verb}: {lot.item}",
            address,
            f"{_amount(lot)} on hand, {lot.get_status_display()}.",
            "Decide on it" if day < today else "Look at it",
            address,
            is_lot=True,
        )


def _certificates(today: date) -> Iterator[Duty]:
    for row in lists.lapsing(today)[:OF_A_KIND]:
        address = reverse("goods_in:certificate", args=[row.pk])
        verb = "has expired" if row.valid_to < today else "needs renewal"
        yield Duty(
            row.valid_to, row.number, verb, address,
            f"{row.supplier}. What was bought under it before keeps its status.",
            "Ask for the new one", reverse("goods_in:supplier", args=[row.supplier_id]),
        )  # fmt: skip


def _racks(today: date) -> Iterator[Duty]:
    """The weekly round: one duty for all the soap whose week is over."""
    rows: list[Any] = list(due_on_racks(today))
    if not rows:
        return
    days = [timezone.localdate(row.weighed_at) if row.weighed_at else row.made_on for row in rows]
    lots = "1 lot was" if len(rows) == 1 else f"{len(rows)} lots were"
    home = reverse("curing:home")
    yield Duty(
        min(days) + ROUND, "Racks", "are due for their weekly weighing", home,
        f"{lots} poured or weighed a week ago or longer.", "Weigh the racks", home,
    )  # fmt: skip


def _reviews(today: date) -> Iterator[Duty]:
    rows: list[Any] = list(lists.reviews(today)[:OF_A_KIND])
    for row in rows:
        address = reverse("goods_in:review-supplier", args=[row.pk])
        yield Duty(
            row.review_due, row.name, "is due for its review", address,
            "Approval of a supplier is looked at again on its day.", "Review it", address,
        )  # fmt: skip


SOURCES: list[Callable[[date], Iterator[Duty]]] = [
    _reports,
    _renewals,
    _late,
    _expiring,
    _certificates,
    _racks,
    _reviews,
]


def duties(today: date, cures: list[Cure]) -> list[Duty]:
    """The dated duties, a statutory one before all others; the number of queries is fixed."""
    found = [duty for source in SOURCES for duty in source(today)]
    found += _cures(cures, today)
    return sorted(found, key=lambda duty: (not duty.is_statutory, duty.day, duty.code))[:MOST_SHOWN]
