"""One lot traced back to its sources and forward to who has it, in a fixed count of queries."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from django.db.models import Q, Sum

from workshop.dispatch.models import Customer, Dispatch
from workshop.goods_in.models import ReceiptLine
from workshop.ledger.models import Act, Kind, Lot, Posting, Side, StatusChange, Unit
from workshop.ledger.reads import Balance, balances
from workshop.ledger.tree import Link, links_back, links_forward
from workshop.trace.flow import Family, Flow, Totals, depths, shown

# Units by dispatch and lot.
Moved = dict[tuple[int, int], Decimal]


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
    """Trace a lot both ways. The number of queries is the same for any depth and width."""
    behind, ahead = links_back([lot.pk]), links_forward([lot.pk])
    lots = _lots({lot.pk, *_ends(behind), *_ends(ahead)})
    units = {pk: found.item.unit for pk, found in lots.items()}
    family = Family([*behind, *ahead], _totals([*behind, *ahead]), units, lots)
    back, forward = family.back(lot.pk), family.forward(lot.pk)
    sources = _sources(behind, lots, back, depths(behind, lot.pk, forward=False))
    held = balances({lot.pk, *(link.product_id for link in ahead)})
    return Trace(
        lot=lots[lot.pk],
        balance=held[lot.pk],
        bought=[source for source in sources if not source.is_made_here],
        made_here=[source for source in sources if source.is_made_here],
        products=_products(ahead, lots, forward, held, depths(ahead, lot.pk, forward=True)),
        sendings=_sendings(lots, held, _inside_a_unit(lot, family, forward)),
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


def _totals(links: Iterable[Link]) -> Totals:
    """What the operations of these links moved in all; a posting and its reversal cancel out."""
    weighed_in_g: dict[int, Fraction] = defaultdict(Fraction)
    put_out: dict[tuple[int, str], Fraction] = defaultdict(Fraction)
    rows = (
        Posting.objects.filter(operation__in={link.operation_id for link in links})
        .order_by()
        .values("operation", "side", "lot__item__unit", "lot__item__kind")
        .annotate(total=Sum("quantity"))
    )
    for row in rows:
        unit, moved = row["lot__item__unit"], Fraction(row["total"])
        if row["side"] == Side.OUT:
            put_out[row["operation"], unit] += moved
        elif unit == Unit.GRAM and row["lot__item__kind"] != Kind.PACKAGING:
            weighed_in_g[row["operation"]] -= moved
    return Totals(weighed_in_g, put_out)


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
    lots: dict[int, Lot], held: Collection[int], inside_a_unit: dict[int, Fraction]
) -> list[Sending]:
    """Who was sent any of these lots; what came back stands beside the dispatch it was sent by."""
    counted = [pk for pk in held if lots[pk].item.unit == Unit.EACH]
    moves = Posting.objects.filter(
        Q(operation__dispatch__isnull=False) | Q(operation__returned__isnull=False),
        lot__in=counted,
    ).select_related(
        "operation__dispatch__customer",
        "operation__dispatch__operation",
        "operation__returned__dispatch__customer",
        "operation__returned__dispatch__operation",
    )
    dispatches: dict[int, Dispatch] = {}
    sent: Moved = defaultdict(Decimal)
    back: Moved = defaultdict(Decimal)
    for posting in moves.order_by("pk"):
        dispatch, total = _dispatch_of(posting, sent, back)
        dispatches.setdefault(dispatch.pk, dispatch)
        total[dispatch.pk, posting.lot_id] += posting.quantity
    sendings = [
        Sending(
            dispatches[key[0]],
            lots[key[1]],
            -change,
            back[key],
            shown(inside_a_unit.get(key[1], Fraction()) * Fraction(-change)),
        )
        for key, change in sent.items()
        if change
    ]
    return sorted(sendings, key=lambda one: (one.dispatch.sent_on, one.dispatch.pk, one.lot.pk))


def _dispatch_of(posting: Posting, sent: Moved, back: Moved) -> tuple[Dispatch, Moved]:
    returned = getattr(posting.operation, "returned", None)
    if returned is not None:
        return returned.dispatch, back
    return posting.operation.dispatch, sent


def last_change(lot: Lot) -> StatusChange | None:
    return lot.status_changes.select_related("by").order_by("-pk").first()
