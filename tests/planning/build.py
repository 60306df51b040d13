"""Builders of buying and the week: a small shop that makes a salve and packs it."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from tests import make
from tests.dispatch import build as dispatch
from tests.goods_in import build as goods
from tests.kettle import build as kettle
from tests.packing import build as packing
from workshop.core.saving.new_tokens import new_token
from workshop.dispatch.models import Customer
from workshop.formulas.models import Version
from workshop.goods_in.models import Supplier
from workshop.kettle.models import Kettle, Scale
from workshop.ledger.models import Item, ItemKind, Lot
from workshop.materials.models import Profile
from workshop.packing.models import Product
from workshop.planning import services
from workshop.planning.models import AcceptedWeek, CustomerOrder, Hours, PurchaseOrder, Terms
from workshop.planning.week.jobs import Changes
from workshop.planning.week.planner import propose


@dataclass
class Shop:
    """A workshop that makes one salve."""

    oil: Item
    wax: Item
    tin: Item
    bulk: Item
    product: Product
    version: Version
    kettle: Kettle
    scale: Scale
    lots: dict[str, Lot]
    customer: Customer


def monday() -> date:
    """The Monday of the week to come, so that all its days are still there."""
    return make.DAY + timedelta(days=7 - make.DAY.weekday())


def shop(
    *, oil_g: int = 5000, wax_g: int = 1000, tins: int = 200, kettle_g: int = 2500, **values: Any
) -> Shop:
    """Oil, wax and tins in stock, nothing made yet."""
    oil, wax = make.item(name="Hazel oil"), make.item(name="Beeswax")
    tin = make.item(ItemKind.PACKAGING, name="Tin, 50 g")
    bulk = make.item(ItemKind.BULK, name="Salve")
    version = kettle.version(
        [(oil, "80"), (wax, "20")],
        of=kettle.formula(bulk),
        expected_loss=Decimal(4),
        shelf_life_months=12,
        **values,
    )
    product = packing.product(
        bulk=bulk, container=tin, fill_g=Decimal(50), name="Salve 50 g", shelf_life_months=12
    )
    lots = {}
    for name, item, amount in (("oil", oil, oil_g), ("wax", wax, wax_g), ("tin", tin, tins)):
        if amount:
            lots[name] = make.lot(item, on_hand=amount)
    return Shop(
        oil,
        wax,
        tin,
        bulk,
        product,
        version,
        kettle.kettle(kettle_g),
        kettle.scale("0.5"),
        lots,
        dispatch.customer("Hollin Wells"),
    )


def fragrance(item: Item) -> Item:
    Profile.objects.create(item=item, inci_name="Parfum", kind="fragrance")
    return item


def order(
    of: Shop,
    units: int,
    *,
    due_on: date | None = None,
    number: str = "W-1",
    customer: Customer | None = None,
    product: Product | None = None,
    **values: Any,
) -> CustomerOrder:
    values.setdefault("token", new_token())
    due = due_on or monday() + timedelta(days=4)
    facts = services.OrderFacts(
        number,
        customer or of.customer,
        min(make.DAY, due),
        due,
        {(product or of.product).item: units},
    )
    return services.enter_order(facts, by=make.user(), at=make.NOON, **values)


def terms(item: Item, **values: Any) -> Terms:
    return services.keep_terms(
        item, services.TermsFacts(**values), by=make.user(), at=make.NOON, token=new_token()
    )


def hours(**values: Any) -> Hours:
    usual = {
        "hours_a_day": Decimal(8),
        "days": "1111100",
        "weeks_ahead": 4,
        "batches_a_day": 1,
        "batch_minutes": 120,
        "units_an_hour": 40,
        "cleaning_minutes": 30,
    }
    facts = services.HoursFacts(**{**usual, **values})
    return services.keep_hours(facts, by=make.user(), at=make.NOON, token=new_token())


def supplier(name: str = "Low Fen Distillery") -> Supplier:
    return goods.supplier(name)


def purchase(
    item: Item, amount: int, *, of: Supplier | None = None, days: int = 7
) -> PurchaseOrder:
    facts = services.PurchaseFacts(
        of or supplier(), make.DAY, make.DAY + timedelta(days=days), {item: Decimal(amount)}
    )
    return services.write_purchase(facts, by=make.user(), at=make.NOON, token=new_token())


def everything() -> Shop:
    """One row of every table: hours, terms, orders either way, one ended, a week accepted."""
    hours(racks_hold_g=Decimal(30_000))
    made = shop()
    terms(
        made.oil,
        minimum_stock=Decimal(500),
        supplier=supplier("Far Mill Oils"),
        lead_days=9,
        pack_size=Decimal(1000),
        order_least=Decimal(2000),
    )
    terms(made.product.item, wanted_per_week=Decimal("2.5"))
    order(made, 30)
    facts = services.PurchaseFacts(
        supplier("Dun Cow Waxes"),
        make.DAY,
        make.DAY + timedelta(days=6),
        {made.wax: Decimal(500)},
        "To the back door",
    )
    by, at = make.user(), make.NOON
    ended = services.write_purchase(facts, by=by, at=at, token=new_token())
    services.stop_purchase(ended, "Sold out", by=by, at=at, token=new_token())
    purchase(made.wax, 700)
    accepted(monday())
    return made


def accepted(week: date) -> AcceptedWeek:
    """The week as it is proposed, accepted."""
    proposal = propose(monday=week, today=make.DAY)
    return services.accept_week(
        monday=week,
        today=make.DAY,
        changes=Changes(),
        mark=proposal.mark,
        by=make.user(),
        at=make.NOON,
        token=new_token(),
    )
