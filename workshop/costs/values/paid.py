"""What was paid for the lots that came in: their prices, and their share of freight and duty."""

from collections import defaultdict
from collections.abc import Collection, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from django.db.models import Sum

from workshop.costs.currencies import DIGITS
from workshop.costs.models import Invoice, InvoiceLine, PricedPer, SpreadBy
from workshop.goods_in.models import ReceiptLine
from workshop.ledger.models import OperationKind, Posting, Unit
from workshop.rules.money.amounts import net_price, shared_out

PER_KILOGRAM = 1000


class Paid(NamedTuple):
    """What was paid for a lot that came in, and how much of it came."""

    total: Fraction
    quantity: Fraction

    @property
    def each(self) -> Fraction:
        return self.total / self.quantity


def bought(lots: Collection[int] | None) -> dict[int, Paid | None]:
    """Each lot that came in, of these or of all; None where nobody entered what was paid."""
    lines = ReceiptLine.objects.effective().order_by()
    lines = lines if lots is None else lines.filter(lot__in=lots)
    came = list(lines.values_list("pk", "lot", "receipt", "cost"))
    paid = _charged(None if lots is None else {receipt for _, _, receipt, _ in came})
    quantities = _received(lots)
    found: dict[int, Paid | None] = {}
    for line, lot, _, noted in came:
        quantity = quantities.get(lot)
        total = paid.get(line, None if noted is None else Fraction(noted))
        found[lot] = Paid(total, quantity) if total is not None and quantity else None
    return found


def _received(lots: Collection[int] | None) -> dict[int, Fraction]:
    rows = Posting.objects.filter(operation__kind=OperationKind.RECEIPT).order_by()
    rows = rows if lots is None else rows.filter(lot__in=lots)
    sums = rows.values_list("lot").annotate(total=Sum("quantity"))
    return {lot: Fraction(total) for lot, total in sums}


class _Terms(NamedTuple):
    """What an invoice asks for beside its lines."""

    currency: str
    exchange_rate: Decimal
    freight: Decimal
    duty: Decimal
    spread_by: str


class _Charge(NamedTuple):
    """One line of an invoice; a price a unit is of a kilogram or a piece."""

    line: int
    lot: int
    unit: str
    price: Decimal
    per: str
    discount_percent: Decimal

    def net(self, quantity: Fraction) -> Fraction:
        """What it comes to without tax."""
        return net_price(
            self.price,
            quantity=quantity / PER_KILOGRAM if self.unit == Unit.GRAM else quantity,
            is_each=self.per == PricedPer.UNIT,
            discount_percent=self.discount_percent,
        )


LINE_COLUMNS = ("line", "line__lot", "line__lot__item__unit", "price", "per", "discount_percent")


def _charged(receipts: Collection[int] | None) -> dict[int, Fraction]:
    """By receipt line: its price and its share of freight and duty, in the workshop's currency."""
    invoices = Invoice.objects.latest_of_each()
    invoices = invoices if receipts is None else invoices.filter(receipt__in=receipts)
    columns = [f"invoice__{name}" for name in _Terms._fields]
    rows = InvoiceLine.objects.filter(invoice__in=invoices).order_by("pk")
    asked: dict[int, _Terms] = {}
    charges: dict[int, list[_Charge]] = defaultdict(list)
    for invoice, *values in rows.values_list("invoice", *columns, *LINE_COLUMNS):
        asked[invoice] = _Terms(*values[: len(columns)])
        charges[invoice].append(_Charge(*values[len(columns) :]))
    lots = [one.lot for of_it in charges.values() for one in of_it]
    quantities = _received(None if receipts is None else lots)
    found: dict[int, Fraction] = {}
    for invoice, of_it in charges.items():
        weights = [quantities.get(one.lot, Fraction()) for one in of_it]
        found |= _in_our_currency(asked[invoice], of_it, weights)
    return found


def _in_our_currency(
    terms: _Terms, charges: Sequence[_Charge], weights: Sequence[Fraction]
) -> dict[int, Fraction]:
    """Freight and duty are parted among the lines so that they add up to the cent."""
    nets = [one.net(quantity) for one, quantity in zip(charges, weights, strict=True)]
    by = weights if terms.spread_by == SpreadBy.WEIGHT else nets
    by = by if sum(by) else [Fraction(1)] * len(by)
    parts = shared_out(terms.freight + terms.duty, by, DIGITS[terms.currency])
    rate = Fraction(terms.exchange_rate)
    return {
        one.line: (net + Fraction(part)) * rate
        for one, net, part in zip(charges, nets, parts, strict=True)
    }
