"""Buying and the week: how things are stocked, and on the last morning what is ordered."""

from collections.abc import Iterable
from datetime import date, timedelta
from decimal import Decimal

from workshop.core.models import User
from workshop.demo.story.clock import Clock
from workshop.demo.story.story_state import Book
from workshop.demo.tables.materials import Bought
from workshop.dispatch.models import Customer
from workshop.goods_in.models import Supplier
from workshop.ledger.models import Item
from workshop.planning import services

# Days from an order until it is here, by how far away a supplier is; in the order of their names.
LEADS = (5, 9, 7, 12, 4, 14)
# What writing and receiving an order costs, and holding stock for a year, in % of its value.
AN_ORDER, HOLDING = Decimal(12), Decimal(20)
LEAST_UNITS = {"CAL-60": 24, "CED-50": 18, "BAR-60": 18, "MIN-60": 12, "SOA-110": 20}
# Product, units, days until it is due: what customers wait for on the last morning.
WANTED = (
    ("PO 7301", 0, (("CAL-60", 36), ("BAR-60", 12)), 3),
    ("PO 7302", 1, (("CED-50", 60),), 4),
    ("WEB 20418", 2, (("MIN-60", 48), ("ROS-100", 20)), 8),
    ("PO 7303", 3, (("SOA-110", 80),), 52),
    ("WEB 20419", 4, (("CAL-60", 120),), 11),
    ("PO 7304", 5, (("MIN-60", 300), ("CED-50", 200)), 12),
)


def keep_terms(book: Book, clock: Clock) -> None:
    """On the first day: the hours of a week, and how each thing is stocked and bought."""
    facts = services.HoursFacts(
        hours_a_day=Decimal(9),
        days="1111100",
        weeks_ahead=4,
        batches_a_day=1,
        batch_minutes=110,
        units_an_hour=45,
        cleaning_minutes=30,
        racks_hold_g=Decimal(40_000),
    )
    at = clock.now
    services.keep_hours(facts, by=book.owner, at=at, token="hours of the first day")  # noqa: S106
    leads = lead_days(book.suppliers)
    for code, one in book.bought.items():
        _buy(book.items[code], one, book.suppliers[one.supplier], leads, clock, book.owner)
    for code, units in LEAST_UNITS.items():
        services.keep_terms(
            book.products[code].item,
            services.TermsFacts(minimum_stock=Decimal(units)),
            by=book.owner,
            at=at,
            token=f"terms {code}",
        )


def lead_days(suppliers: Iterable[str]) -> dict[str, int]:
    """How many days each supplier takes."""
    return {name: LEADS[place % len(LEADS)] for place, name in enumerate(sorted(suppliers))}


def _buy(
    item: Item, one: Bought, of: Supplier, leads: dict[str, int], clock: Clock, by: User
) -> None:
    facts = services.TermsFacts(
        supplier=of,
        lead_days=leads[one.supplier],
        pack_size=one.quantity(1),
        order_cost=AN_ORDER,
        holding_percent=HOLDING,
    )
    services.keep_terms(item, facts, by=by, at=clock.now, token=f"terms {item.code}")


def take_orders(book: Book, clock: Clock) -> None:
    """On the last morning: what customers ordered, and one delivery that is on its way."""
    items = {code: product.item for code, product in book.products.items()}
    for number, place, lines, days in WANTED:
        enter(book.customers[place], items, number, lines, book.day, days, book.packer, clock)
    wax = book.items["WAX-BEE"]
    one = book.bought["WAX-BEE"]
    facts = services.PurchaseFacts(
        book.suppliers[one.supplier],
        book.day - timedelta(days=4),
        book.day + timedelta(days=3),
        {wax: one.quantity(2)},
    )
    services.write_purchase(facts, by=book.owner, at=clock.now, token="wax on its way")  # noqa: S106
    book.note("orders", f"{len(WANTED)} orders of customers wait, and beeswax is on its way")


def enter(
    customer: Customer,
    items: dict[str, Item],
    number: str,
    lines: Iterable[tuple[str, int]],
    today: date,
    days: int,
    by: User,
    clock: Clock,
) -> None:
    """One order of a customer."""
    facts = services.OrderFacts(
        number,
        customer,
        today - timedelta(days=2),
        today + timedelta(days=days),
        {items[code]: units for code, units in lines},
    )
    services.enter_order(facts, by=by, at=clock.now, token=f"order {number}")
