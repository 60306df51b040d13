"""Builders of the room of money."""

from decimal import Decimal
from typing import Any

from tests import make
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.costs import services
from workshop.costs.models import Invoice, PricedPer, Rates, SalesPrice, WorkTime
from workshop.goods_in.models import Receipt
from workshop.ledger.models import Item, Lot, Operation

START = make.day(months=-24)


def rates(currency: str = "EUR", labour: str = "30", overhead: str = "0", **values: Any) -> Rates:
    values.setdefault("from_on", START)
    return services.enter_rates(
        currency=currency,
        labour_per_hour=Decimal(labour),
        overhead_percent=Decimal(overhead),
        by=make.user(Role.OWNER),
        at=make.NOON,
        token=new_token(),
        **values,
    )


def invoice(
    receipt: Receipt, *prices: str, per: PricedPer = PricedPer.LINE, **charges: Any
) -> Invoice:
    """Prices in the order of the receipt's lines; "6.00 -10" has a discount of ten per cent."""
    charges.setdefault("currency", "EUR")
    parts = [price.split(" -") for price in prices]
    priced = {
        line.pk: services.LinePrice(Decimal(price), per, Decimal(discount[0] if discount else 0))
        for line, (price, *discount) in zip(receipt.lines.all(), parts, strict=False)
    }
    return services.enter_invoice(
        receipt,
        services.Charges(**charges),
        priced,
        by=make.user(Role.OWNER),
        at=make.NOON,
        token=new_token(),
    )


def paid(lot: Lot, price: str, **charges: Any) -> Invoice:
    """The delivery of one lot, paid for as a whole."""
    return invoice(lot.receipt_line.receipt, price, **charges)


def minutes(operation: Operation, count: int) -> WorkTime:
    return services.enter_minutes(
        operation, count, by=make.user(Role.OWNER), at=make.NOON, token=new_token()
    )


def price(item: Item, amount: str, channel: str = "web shop", **values: Any) -> SalesPrice:
    values.setdefault("from_on", START)
    return services.enter_price(
        item,
        channel=channel,
        price=Decimal(amount),
        by=make.user(Role.OWNER),
        at=make.NOON,
        token=new_token(),
        **values,
    )
