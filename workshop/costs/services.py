"""What is entered about money: rates, an invoice, minutes of work, a price. Rows are added only."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.costs.currencies import DIGITS
from workshop.costs.models import (
    Invoice,
    InvoiceLine,
    PricedPer,
    Rates,
    SalesPrice,
    SpreadBy,
    WorkTime,
)
from workshop.goods_in.models import Receipt, ReceiptLine
from workshop.ledger.models import TRANSFORMING, Item, ItemKind, Operation
from workshop.rules.errors import RuleError
from workshop.rules.money.amounts import refuse_finer

NO_RATES = "Choose the workshop's currency first."


@dataclass(frozen=True)
class LinePrice:
    """What one lot was charged at: the whole line, or each kilogram or piece of it."""

    price: Decimal
    per: PricedPer = PricedPer.LINE
    discount_percent: Decimal = Decimal(0)


@dataclass(frozen=True)
class Charges:
    """What stands on an invoice besides the goods. Recoverable tax is in no cost."""

    currency: str
    reference: str = ""
    exchange_rate: Decimal = Decimal(1)
    freight: Decimal = Decimal(0)
    duty: Decimal = Decimal(0)
    tax: Decimal = Decimal(0)
    spread_by: SpreadBy = field(default=SpreadBy.VALUE)


@transaction.atomic
def enter_rates(
    *,
    from_on: date,
    currency: str,
    labour_per_hour: Decimal,
    overhead_percent: Decimal,
    by: User,
    at: datetime,
    token: str,
) -> Rates:
    """Keep the workshop's currency and what an hour costs from a day on.

    Raises ActionRefused for a currency that ISO 4217 does not know, for another one than the book
    reckons in, and for an amount finer than its smallest unit.
    """
    content = (from_on, currency, labour_per_hour, overhead_percent)
    if check_idempotency(token, "rates", content=content):
        return Rates.objects.get(token=token)
    known = workshop_currency()
    if known and currency != known:
        raise ActionRefused(
            f"The book's currency is {known}; it cannot change.",
            field="currency",
        )
    refuse_odd_amount(labour_per_hour, currency, "labour_per_hour")
    return Rates.objects.create(
        from_on=from_on,
        currency=currency,
        labour_per_hour=labour_per_hour,
        overhead_percent=overhead_percent,
        by=by,
        at=at,
        token=token,
    )


@transaction.atomic
def enter_invoice(
    receipt: Receipt,
    charges: Charges,
    prices: Mapping[int, LinePrice],
    *,
    by: User,
    at: datetime,
    token: str,
) -> Invoice:
    """Keep what a delivery cost; prices by the key of the receipt's line.

    The invoice entered last counts. Raises ActionRefused where no line is priced, for a line of
    another delivery or taken back, and for what `Charges` cannot be.
    """
    if check_idempotency(token, "invoice", receipt=receipt, charges=charges, prices=prices):
        return Invoice.objects.get(token=token)
    known = workshop_currency()
    if known is None:
        raise ActionRefused(NO_RATES)
    if not prices:
        raise ActionRefused("Give the price of at least one lot.")
    _refuse_odd_charges(charges, known)
    for price in prices.values():
        # A price of a unit may be finer than money is paid in.
        if price.per == PricedPer.LINE:
            refuse_odd_amount(price.price, charges.currency)
    lines = ReceiptLine.objects.effective().filter(receipt=receipt).in_bulk(list(prices))
    if len(lines) != len(prices):
        raise ActionRefused("A lot of this delivery was taken back meanwhile. Reload the page.")
    invoice = Invoice.objects.create(
        receipt=receipt,
        reference=charges.reference.strip(),
        currency=charges.currency,
        exchange_rate=charges.exchange_rate,
        freight=charges.freight,
        duty=charges.duty,
        tax=charges.tax,
        spread_by=charges.spread_by,
        by=by,
        at=at,
        token=token,
    )
    for key, line in sorted(lines.items()):
        InvoiceLine.objects.create(
            invoice=invoice,
            line=line,
            price=prices[key].price,
            per=prices[key].per,
            discount_percent=prices[key].discount_percent,
        )
    return invoice


def _refuse_odd_charges(charges: Charges, known: str) -> None:
    if charges.currency == known and charges.exchange_rate != 1:
        raise ActionRefused(
            f"{known} is the workshop's own currency: its rate is 1.", field="exchange_rate"
        )
    if charges.exchange_rate <= 0:
        raise ActionRefused("A rate is above zero.", field="exchange_rate")
    for name in ("freight", "duty", "tax"):
        refuse_odd_amount(getattr(charges, name), charges.currency, name)


@transaction.atomic
def enter_minutes(
    operation: Operation, minutes: int, *, by: User, at: datetime, token: str
) -> WorkTime:
    """Keep how long a batch or a packing run took; what was entered last counts.

    Raises ActionRefused for another kind of operation.
    """
    if check_idempotency(token, "minutes", operation=operation, minutes=minutes):
        return WorkTime.objects.get(token=token)
    if operation.kind not in TRANSFORMING:
        raise ActionRefused("Only a batch, a packing run or an unpacking has minutes of work.")
    return WorkTime.objects.create(operation=operation, minutes=minutes, by=by, at=at, token=token)


@transaction.atomic
def enter_price(
    item: Item,
    *,
    channel: str,
    price: Decimal,
    from_on: date,
    by: User,
    at: datetime,
    token: str,
) -> SalesPrice:
    """Keep what a unit of a product is sold for in a channel from a day on, without tax.

    Raises ActionRefused for what is no product, without a currency, for an odd amount.
    """
    content = (channel, price, from_on)
    if check_idempotency(token, "price", item=item, content=content):
        return SalesPrice.objects.get(token=token)
    known = workshop_currency()
    if known is None:
        raise ActionRefused(NO_RATES)
    if item.kind != ItemKind.PRODUCT:
        raise ActionRefused("Only a product has a price.")
    refuse_odd_amount(price, known, "price")
    return SalesPrice.objects.create(
        item=item,
        channel=" ".join(channel.split()),
        price=price,
        from_on=from_on,
        by=by,
        at=at,
        token=token,
    )


def workshop_currency() -> str | None:
    """The currency that the book reckons in; the first one that was entered."""
    row = Rates.objects.order_by("pk").first()
    return row.currency if row else None


def refuse_odd_amount(amount: Decimal, currency: str, field: str | None = None) -> None:
    if currency not in DIGITS:
        raise ActionRefused("ISO 4217 knows no such currency.", field="currency")
    try:
        refuse_finer(amount, DIGITS[currency], currency)
    except RuleError as error:
        raise ActionRefused(str(error), field=field) from error
