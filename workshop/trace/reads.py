"""One lot traced back to its sources and forward to who has it, in three queries."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from workshop.dispatch.models import Customer, Dispatch
from workshop.goods_in.models import ReceiptLine
from workshop.ledger.models import Act, Kind, Lot, StatusChange, Unit
from workshop.ledger.reads import Balance
from workshop.ledger.tree import Link, links_both_ways
from workshop.trace.flow import Family, Flow, depths, shown
from workshop.trace.movements import Movement, balances, dispatches, moved, totals


@dataclass(frozen=True)
class Source:
    """A lot behind the one asked about."""

    lot: Lot
    taken: Decimal
    inside: Decimal
    depth: int

    @property
    def arrival(self) -> ReceiptLine | None:
        return arrival_of(self.lot)

    @property
    def is_made_here(self) -> bool:
        return self.lot.origin.kind != Act.RECEIPT


@dataclass(frozen=True)
class Made:
    """A lot made from the one asked about; `inside` is how much of that is in it."""

    lot: Lot
    inside: Decimal
    balance: Balance
    depth: int

    @property
    def still_out(self) -> Decimal:
        return self.balance.sent - self.balance.returned


@dataclass(frozen=True)
class Sending:
    """Units of one lot that one dispatch sent; `inside` is how much of the lot asked about."""

    dispatch: Dispatch
    lot: Lot
    units: Decimal
    back: Decimal
    inside: Decimal

    @property
    def customer(self) -> Customer:
        return self.dispatch.customer

    @property
    def still_out(self) -> Decimal:
        return self.units - self.back


@dataclass(frozen=True)
class Trace:
    lot: Lot
    balance: Balance
    bought: list[Source]
    made_here: list[Source]
    products: list[Made]
    sendings: list[Sending]
    back: Flow
    forward: Flow

    @property
    def arrival(self) -> ReceiptLine | None:
        return arrival_of(self.lot)

    @property
    def finished(self) -> list[Made]:
        return [made for made in self.products if made.lot.item.kind == Kind.PRODUCT]

    @property
    def bulks(self) -> list[Made]:
        return [made for made in self.products if made.lot.item.kind != Kind.PRODUCT]

    @property
    def customers(self) -> int:
        return len({sending.dispatch.customer_id for sending in self.sendings})

    @property
    def units_still_out(self) -> Decimal:
        return sum((sending.still_out for sending in self.sendings), Decimal(0))

    @property
    def units_on_hand(self) -> Decimal:
        return sum((made.balance.on_hand for made in self.finished), Decimal(0))


def arrival_of(lot: Lot) -> ReceiptLine | None:
    line: ReceiptLine | None = getattr(lot, "receipt_line", None)
    return line


def trace(lot: Lot) -> Trace:
    """Trace a lot both ways. Three queries, whatever the depth and the width."""
    behind, ahead = links_both_ways(lot.pk)
    lots = _lots({lot.pk, *_ends(behind), *_ends(ahead)})
    units = {pk: found.item.unit for pk, found in lots.items()}
    kept = {lot.pk, *(link.product_id for link in ahead)}
    rows = moved(kept, {link.operation_id for link in (*behind, *ahead)})
    family = Family([*behind, *ahead], totals(rows), units, lots)
    back, forward = family.back(lot.pk), family.forward(lot.pk)
    sources = _sources(behind, lots, back, depths(behind, lot.pk, forward=False))
    held = balances(kept, rows)
    return Trace(
        lot=lots[lot.pk],
        balance=held[lot.pk],
        bought=[source for source in sources if not source.is_made_here],
        made_here=[source for source in sources if source.is_made_here],
        products=_products(ahead, lots, forward, held, depths(ahead, lot.pk, forward=True)),
        sendings=_sendings(lots, rows, _inside_a_unit(lot, family, forward)),
        back=back,
        forward=forward,
    )


def _ends(links: Iterable[Link]) -> set[int]:
    return {pk for link in links for pk in (link.source_id, link.product_id)}


def _lots(pks: Collection[int]) -> dict[int, Lot]:
    # Not in_bulk, which asks once for every 999 lots on SQLite.
    rows = Lot.objects.filter(pk__in=pks).select_related(
        "item",
        "origin__opened_by",
        "receipt_line__receipt__supplier",
        "receipt_line__certificate",
    )
    return {lot.pk: lot for lot in rows}


def _sources(
    links: Iterable[Link], lots: dict[int, Lot], flow: Flow, depth: dict[int, int]
) -> list[Source]:
    taken: dict[int, dict[int, Decimal]] = defaultdict(dict)
    for link in links:
        taken[link.source_id][link.taken_posting_id] = link.taken
    sources = [
        Source(
            lots[pk],
            sum(amounts.values(), Decimal(0)),
            shown(flow.of.get(pk, Fraction())),
            depth.get(pk, 0),
        )
        for pk, amounts in taken.items()
    ]
    return sorted(sources, key=lambda source: (source.lot.item.unit != Unit.GRAM, -source.inside))


def _products(
    links: Iterable[Link],
    lots: dict[int, Lot],
    flow: Flow,
    held: dict[int, Balance],
    depth: dict[int, int],
) -> list[Made]:
    products = [
        Made(lots[pk], shown(flow.of.get(pk, Fraction())), held[pk], depth.get(pk, 0))
        for pk in {link.product_id for link in links}
    ]
    return sorted(products, key=lambda made: (made.lot.made_on, made.lot.pk))


def _inside_a_unit(lot: Lot, family: Family, flow: Flow) -> dict[int, Fraction]:
    """How much of the lot asked about is in one unit of each lot that may have been sent."""
    inside = {pk: amount / family.made(pk) for pk, amount in flow.of.items() if family.made(pk)}
    return {**inside, lot.pk: Fraction(1)}


def _sendings(
    lots: dict[int, Lot], rows: Iterable[Movement], inside_a_unit: dict[int, Fraction]
) -> list[Sending]:
    """Who was sent any of these lots; what came back stands beside the dispatch it was sent by."""
    counted = [row for row in rows if row.unit == Unit.EACH]
    by_key, sent, back = dispatches(counted)
    sendings = [
        Sending(
            by_key[key[0]],
            lots[key[1]],
            -change,
            back[key],
            shown(inside_a_unit.get(key[1], Fraction()) * Fraction(-change)),
        )
        for key, change in sent.items()
        if change
    ]
    return sorted(sendings, key=lambda one: (one.dispatch.sent_on, one.dispatch.pk, one.lot.pk))


def last_change(lot: Lot) -> StatusChange | None:
    return lot.status_changes.select_related("by").order_by("-pk").first()
