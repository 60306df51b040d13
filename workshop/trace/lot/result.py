"""What a trace answers with: the lots behind one, the lots made of it, and who was sent them."""

from dataclasses import dataclass, field
from decimal import Decimal

from workshop.dispatch.models import Customer, Dispatch
from workshop.goods_in.models import ReceiptLine
from workshop.ledger.models import BRINGING_IN, ItemKind, Lot, OperationKind
from workshop.ledger.stock_queries import Balance
from workshop.trace.lot.share_flow import Flow

NOTHING = Decimal(0)


@dataclass(frozen=True)
class Who:
    """Who took part in the operation that brought a lot into the book."""

    received: list[str] = field(default_factory=list)
    weighed: list[str] = field(default_factory=list)
    poured: list[str] = field(default_factory=list)
    packed: list[str] = field(default_factory=list)
    unpacked: list[str] = field(default_factory=list)

    @property
    def said(self) -> str:
        """Each with what they did: "weighed by Ada, Ben; poured by Ben"."""
        parts = {
            "received by": self.received,
            "weighed by": self.weighed,
            "poured by": self.poured,
            "packed by": self.packed,
            "unpacked by": self.unpacked,
        }
        return "; ".join(f"{did} {', '.join(names)}" for did, names in parts.items() if names)


@dataclass(frozen=True)
class Source:
    """A lot behind the one asked about."""

    lot: Lot
    taken: Decimal
    inside: Decimal
    depth: int
    who: Who = field(default_factory=Who)
    is_strained_out: bool = False

    @property
    def arrival(self) -> ReceiptLine | None:
        return arrival_of(self.lot)

    @property
    def is_made_here(self) -> bool:
        return self.lot.origin.kind not in BRINGING_IN


@dataclass(frozen=True)
class Descendant:
    """A lot made from the one asked about; `inside` is how much of that is in it."""

    lot: Lot
    inside: Decimal
    balance: Balance
    depth: int
    who: Who = field(default_factory=Who)
    on_its_way: Decimal = NOTHING
    retained: Decimal = NOTHING
    is_strained_out: bool = False

    @property
    def still_out(self) -> Decimal:
        return self.balance.sent - self.balance.returned

    @property
    def with_customers(self) -> Decimal:
        return self.still_out - self.on_its_way


@dataclass(frozen=True)
class Sending:
    """Units of one lot that one dispatch sent; `inside` is how much of the lot asked about."""

    dispatch: Dispatch
    lot: Lot
    units: Decimal
    back: Decimal
    inside: Decimal
    is_on_its_way: bool = False
    sent_by: list[str] = field(default_factory=list)
    is_strained_out: bool = False

    @property
    def customer(self) -> Customer:
        return self.dispatch.customer

    @property
    def still_out(self) -> Decimal:
        return self.units - self.back

    @property
    def on_its_way(self) -> Decimal:
        return self.still_out if self.is_on_its_way else NOTHING


@dataclass(frozen=True)
class Trace:
    lot: Lot
    balance: Balance
    bought: list[Source]
    made_here: list[Source]
    products: list[Descendant]
    sendings: list[Sending]
    back: Flow
    forward: Flow
    who: Who
    on_its_way: Decimal
    retained: Decimal

    @property
    def arrival(self) -> ReceiptLine | None:
        return arrival_of(self.lot)

    @property
    def before_the_book(self) -> list[Lot]:
        """The lots where the way back ends because they were there before this book."""
        behind = [self.lot, *(source.lot for source in (*self.bought, *self.made_here))]
        return [lot for lot in behind if lot.origin.kind == OperationKind.OPENING]

    @property
    def finished(self) -> list[Descendant]:
        return [made for made in self.products if made.lot.item.kind == ItemKind.PRODUCT]

    @property
    def bulks(self) -> list[Descendant]:
        return [made for made in self.products if made.lot.item.kind != ItemKind.PRODUCT]

    @property
    def customers(self) -> int:
        return len({sending.dispatch.customer_id for sending in self.sendings})

    @property
    def units_still_out(self) -> Decimal:
        return sum((sending.still_out for sending in self.sendings), NOTHING)

    @property
    def with_customers(self) -> Decimal:
        """Of the lot itself: sent, not come back, and no longer on its way."""
        return self.balance.sent - self.balance.returned - self.on_its_way


def arrival_of(lot: Lot) -> ReceiptLine | None:
    line: ReceiptLine | None = getattr(lot, "receipt_line", None)
    return line
