"""From the units sold back to what they needed, and the product side in units and in grams."""

from decimal import Decimal
from fractions import Fraction
from io import BytesIO

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from openpyxl import load_workbook
from pytest_django.asserts import assertContains

from tests import make
from tests.dispatch import build as dispatch
from tests.formulas import build as formulas
from tests.goods_in import build as goods
from tests.kettle import build as kettle
from tests.packing import build as packing
from workshop.core.models import Role
from workshop.dispatch.models import Customer
from workshop.kettle.models import Batch
from workshop.ledger.models import Item, Lot, Status
from workshop.organic.balance.needed import Needed, needed
from workshop.organic.balance.query import Period
from workshop.organic.balance.statement import statement
from workshop.packing.services import unpack
from workshop.rules.organic.mass_balance import needed_g

pytestmark = pytest.mark.django_db
TODAY = Period(make.DAY, make.DAY)


def organic(grams: int, item: Item | None = None) -> Lot:
    return goods.lot(item, grams=grams, organic_until=make.DAY + goods.YEAR)


def tins(oil: Lot, *, sold: int = 96, back: int = 2) -> Lot:
    """3125 g, a quarter of it oil; 3000 g are poured into 100 tins of 30 g, and some are sold."""
    wax = make.lot(make.item(), on_hand=3000)
    version = formulas.approved(formulas.line(25, oil.item), formulas.line(75, wax.item))
    batch = kettle.batch(version, target_g="3125")
    for line in batch.lines.select_related("item"):
        kettle.weigh(line, lot=oil if line.item == oil.item else wax)
    (bulk,) = kettle.pour(Batch.objects.get(pk=batch.pk), "3000")
    kettle.release(Batch.objects.get(pk=batch.pk))
    bulk.refresh_from_db()
    product = packing.product(
        bulk=bulk.item, fill_g=Decimal(30), claims_organic=True, name="Salve 30 g"
    )
    lot = make.put(packing.packed(product, 100, bulk=bulk), Status.RELEASED)
    if sold:
        buyer = dispatch.customer(f"Shop {Customer.objects.count()}")
        sending = dispatch.sent((lot, sold), to=buyer)
        dispatch.back(sending, (lot, back))
    return lot


def of(found: Needed, oil: Lot) -> tuple[Fraction, Decimal, Decimal, bool]:
    (need,) = [one for one in found.needs if one.item == oil.item]
    return need.needed, need.had, need.received, need.holds


def test_sold_units_need_what_formula_and_yield_say() -> None:
    # Units x net weight x share / yield, as in the worked figures: 30 g, 25 %, 96 %.
    oil = organic(2_000)
    tins(oil)

    found = needed(TODAY)

    assert [(one.units, one.net_g, one.yield_percent) for one in found.sold] == [
        (94, Decimal(2820), Decimal(96))
    ]
    expected = needed_g(94, Fraction(30), Fraction(96, 100), Fraction(25, 100))
    assert of(found, oil) == (expected, Decimal(0), Decimal(2000), True)
    assert float(expected) == 734.375
    assert found.holds
    assert found.unknown == []


def test_more_sold_than_organic_oil_there_was_does_not_hold() -> None:
    oil = goods.lot(grams=2_000)
    organic(700, oil.item)
    tins(oil)

    found = needed(TODAY)

    assert of(found, oil)[2:] == (Decimal(700), False)
    assert not found.holds


def test_what_was_sold_of_a_stock_nobody_made_in_the_period_is_named() -> None:
    product = packing.product(claims_organic=True, name="Old salve")
    lot = make.put(packing.packed(product), Status.RELEASED)
    dispatch.sent((lot, 3))

    assert needed(TODAY).unknown == ["Old salve: nothing of it was made and packed in the period."]


def test_units_that_were_unpacked_were_not_made_twice() -> None:
    """94 of 100 tins are sold; what came out of four of the others is bulk, and packed again."""
    oil = organic(2_000)
    lot, by = make.put(tins(oil), Status.RELEASED), make.user()
    made = unpack(
        lot, Decimal(4), Decimal(120), reason="wrong lids", by=by, at=make.NOON, token="unpack"
    )
    bulk = make.put(made, Status.RELEASED)
    packing.packed(lot.item.product, 4, bulk=bulk)

    found = needed(TODAY)

    assert of(found, oil)[0] == needed_g(94, Fraction(30), Fraction(96, 100), Fraction(25, 100))
    assert [one.yield_percent for one in found.sold] == [Decimal(96)]
    told = statement(lot.item, TODAY)
    used = next(figure for figure in told.figures if figure.key == "used")
    assert [(name, amount) for name, amount, _ in used.groups] == [("unpacking", Decimal(4))]
    assert not told.balance.unexplained


def test_page_leads_from_sold_units_to_certificates(client: Client) -> None:
    oil = organic(2_000)
    tins(oil)
    client.force_login(make.user(Role.INSPECTOR))

    page = client.get(reverse("organic:chain"))

    assertContains(page, "734.375")
    certificate = oil.receipt_line.certificate
    assert certificate
    assertContains(page, certificate.number)
    assertContains(page, "There was as much of each organic material as the units sold needed.")


def test_page_takes_the_same_queries_for_any_number_of_products(client: Client) -> None:
    client.force_login(make.user(Role.INSPECTOR))

    def queries() -> int:
        with CaptureQueriesContext(connection) as found:
            client.get(reverse("organic:chain"))
        return len(found)

    tins(organic(2_000))
    few = queries()
    for _ in range(3):
        tins(organic(2_000))
    assert queries() == few


def test_product_is_balanced_in_units_and_in_grams(client: Client) -> None:
    lot = tins(organic(2_000))
    client.force_login(make.user(Role.INSPECTOR))

    one = statement(lot.item, TODAY)

    assert [(heading, grams) for _, heading, grams in one.sums_in_grams] == [
        ("A. Opening stock", Decimal(0)),
        ("Made here", Decimal(3000)),
        ("Sold or sent", Decimal(2880)),
        ("Returned by customers", Decimal(60)),
        ("D. Closing stock", Decimal(180)),
    ]
    page = client.get(reverse("organic:home"), {"group": "products"})
    assertContains(page, "at the net weight of their labels")
    assertContains(page, "2\u202f880.0")
    got = client.get(reverse("organic:balance-file", args=[lot.item.code, "xlsx"])).content
    rows = list(load_workbook(BytesIO(got)).active.values)  # type: ignore[union-attr]
    line = next(at for at, row in enumerate(rows, 1) if row[:2] == ("Made here", "total"))
    in_grams = next(row for row in rows if row[0] == "Made here, in grams")
    assert in_grams[6] == f"=G{line}*30.000"
