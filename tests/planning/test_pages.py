"""The pages of buying and the week, as each role sees them."""

from datetime import timedelta
from decimal import Decimal
from io import BytesIO
from typing import Any

import pypdfium2
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pytest_django.asserts import assertContains, assertNotContains, assertRedirects

from tests import make
from tests.costs import build as costs
from tests.dispatch import build as dispatch
from tests.goods_in import build as goods
from tests.kettle import build as kettle
from tests.packing import build as packing
from tests.planning import build
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.goods_in.models import Receipt
from workshop.kettle.models import Batch
from workshop.ledger.models import ItemKind
from workshop.planning.models import CustomerOrder, Hours, PlannedBatch, PurchaseOrder, Terms

pytestmark = pytest.mark.django_db


def week_address(**asked: Any) -> str:
    more = "".join(f"&{key}={value}" for key, value in asked.items())
    return f"{reverse('planning:home')}?week={build.monday().isoformat()}{more}"


def words_of(answer: Any) -> str:
    document = pypdfium2.PdfDocument(BytesIO(answer.content))
    return " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in document)


def test_week_says_what_is_made_when_and_why(signed_in: Any) -> None:
    shop = build.shop()
    build.order(shop, 30)
    answer = signed_in().get(week_address())
    assertContains(answer, "one batch, one packing run")
    assertContains(answer, "30 Salve 50 g are ordered for")
    assertContains(answer, 'role="img"')
    assertContains(answer, "Accept this week")
    for role in (Role.MAKER, Role.PACKER, Role.INSPECTOR):
        assertNotContains(signed_in(role).get(week_address()), "Accept this week")


def test_a_line_is_changed_in_the_address_and_nothing_is_written(signed_in: Any) -> None:
    shop = build.shop()
    build.order(shop, 30)
    client = signed_in()
    key = f"b{shop.bulk.pk}-0"
    answer = client.get(week_address(key=key, to_day=2, to_amount="2000"))
    assertContains(answer, "You changed 1 line")
    assertContains(answer, "2\u202f000.0\u202fg")
    odd = client.get(week_address(key=key, to_amount="a lot"))
    assertContains(odd, "is not a number")
    assertContains(odd, 'value="a lot"')
    assertContains(client.get(week_address(key=key, leave=1)), "left out")
    assert not Batch.objects.exists()


def seen(client: Any) -> dict[str, str]:
    """What the button of the week that a client looks at would send."""
    shown = client.get(week_address())
    return {
        "week": build.monday().isoformat(),
        "mark": shown.context["proposal"].mark,
        "token": shown.context["token"],
    }


def test_an_owner_accepts_the_week_that_was_seen(signed_in: Any) -> None:
    shop = build.shop()
    build.order(shop, 30)
    client = signed_in()
    sent = seen(client)
    answer = client.post(reverse("planning:accept"), sent, follow=True)
    assertContains(answer, "Their lots are reserved")
    assertContains(answer, f"planned {Batch.objects.get()}")
    client.post(reverse("planning:accept"), sent)
    assert PlannedBatch.objects.count() == 1
    stale = client.post(reverse("planning:accept"), {**sent, "token": new_token()})
    assertContains(stale, "have changed since")
    assert signed_in(Role.MAKER).post(reverse("planning:accept"), sent).status_code == 403


def test_the_weigh_up_says_for_which_batch_a_lot_is_kept_and_stops_nobody(signed_in: Any) -> None:
    shop = build.shop()
    build.order(shop, 30)
    signed_in().post(reverse("planning:accept"), seen(signed_in()))
    planned = PlannedBatch.objects.get().batch
    # 312.5 of 1 000 g of wax are kept, and 900 g would take some; oil is enough for both.
    other = kettle.batch(shop.version, target_g="4500")
    oil, wax = other.lines.order_by("order")
    client, page = signed_in(Role.MAKER), reverse("kettle:weigh", args=[other.operation.reference])
    words = f"312.5\u202fg kept for {planned}"
    shown = client.get(page, {"line": wax.pk})
    assertContains(shown, f"Lot {shop.lots['wax']}: {words}. Take another lot if there is one")
    scanned = client.get(
        page, {"lot": shop.lots["wax"].code}, headers={"Accept": "application/json"}
    )
    assert words in scanned.json()["lot"]["best"]
    cautions = {line["pk"]: line["cautions"] for line in scanned.json()["state"]["lines"]}
    assert not [one for one in cautions[oil.pk] if "kept for" in one[1]]
    kettle.weigh(wax, lot=shop.lots["wax"])
    # The batch that it is kept for is told nothing.
    own = reverse("kettle:weigh", args=[planned.operation.reference])
    assertNotContains(client.get(own), "kept for")


def test_week_on_paper_has_the_same_lines(signed_in: Any) -> None:
    shop = build.shop()
    build.order(shop, 30)
    asked = {"week": build.monday().isoformat()}
    words = words_of(signed_in().get(reverse("planning:paper"), asked))
    assert "one batch, one packing run" in words
    assert "Pack Salve 50 g" in words


def test_hours_are_kept_and_odd_ones_are_said(signed_in: Any) -> None:
    client = signed_in()
    page = reverse("planning:hours")
    sent = {
        "hours_a_day": "7,5",
        "days": ["0", "2"],
        "weeks_ahead": "3",
        "batches_a_day": "2",
        "batch_minutes": "90",
        "units_an_hour": "50",
        "cleaning_minutes": "0",
        "racks_hold_g": "",
        "token": new_token(),
    }
    assertRedirects(client.post(page, sent), reverse("planning:home"))
    kept = Hours.objects.get()
    assert (kept.hours_a_day, kept.days, kept.racks_hold_g) == (Decimal("7.5"), "1010000", None)
    odd = client.post(page, {**sent, "days": [], "weeks_ahead": "99", "token": new_token()})
    assertContains(odd, "Choose at least one day of work.")
    assertContains(odd, "at most 26")


# ---- customers' orders --------------------------------------------------------------------------


def order_sent(shop: build.Shop, **values: Any) -> dict[str, Any]:
    return {
        "number": "W-7",
        "customer": shop.customer.pk,
        "ordered_on": make.iso(),
        "due_on": make.iso(9),
        "line-0-item": shop.product.item_id,
        "line-0-units": "12",
        "token": new_token(),
        **values,
    }


def test_an_order_is_entered_by_hand_and_waits_to_go_out(signed_in: Any) -> None:
    shop = build.shop()
    client = signed_in(Role.PACKER)
    page = reverse("planning:new-order")
    assertRedirects(client.post(page, order_sent(shop)), reverse("planning:orders"))
    assertContains(client.get(reverse("planning:orders")), "1 line of customers")
    odd = client.post(page, order_sent(shop, **{"line-0-units": "none", "due_on": "soon"}))
    assertContains(odd, "is not a number")
    assertContains(odd, 'value="none"')
    early = client.post(page, order_sent(shop, due_on=make.iso(-1)))
    assertContains(early, "cannot be due before")
    lot = make.lot(shop.product.item, on_hand=20)
    dispatch.sent((lot, 12), to=shop.customer)
    assertContains(client.get(reverse("planning:orders")), "No order is waiting to go out")


def test_an_order_of_a_known_number_takes_its_place_or_changes_nothing(signed_in: Any) -> None:
    shop = build.shop()
    build.order(shop, 30)
    build.order(shop, 30)
    assert CustomerOrder.objects.count() == 1
    build.order(shop, 40)
    first, second = CustomerOrder.objects.order_by("pk")
    client = signed_in()
    assertContains(client.get(reverse("planning:order", args=[first.pk])), "entered again since")
    page = reverse("planning:order", args=[second.pk])
    client.post(page, {"token": new_token()}, follow=True)
    assertContains(client.get(reverse("planning:orders")), "No order is waiting to go out")


FILE = """Order number;Buyer;SKU;Qty;Deliver by
A-1;Hollin Wells;{code};10;2031-05-04
A-1;Hollin Wells;{other};5;2031-05-04
A-2;hollin wells;salve 50 g;3;04.05.2031
"""


def file_of(shop: build.Shop) -> str:
    other = packing.product(name="Salve 15 g", fill_g=Decimal(15))
    return FILE.format(code=shop.product.item.code, other=other.item.code)


def test_a_file_of_any_shop_is_looked_at_and_taken_in_once(signed_in: Any) -> None:
    shop = build.shop()
    client, page = signed_in(), reverse("planning:order-file")
    text = file_of(shop)
    file = BytesIO(text.encode())
    file.name = "orders.csv"
    looked = client.post(page, {"file": file})
    assertContains(looked, "3 rows: which column says what?")
    chosen = looked.context["form"].initial
    sent = {
        **{name: chosen[name] for name in ("number", "product", "units", "customer", "due_on")},
        "text": text,
        "token": new_token(),
    }
    assertContains(client.post(page, sent), "2 orders can be imported")
    taken = client.post(page, {**sent, "take": "1"}, follow=True)
    assertContains(taken, "2 new, 0 changed, 0 known")
    again = client.post(page, {**sent, "take": "1", "token": new_token()}, follow=True)
    assertContains(again, "0 new, 0 changed, 2 known")
    assert {order.number: order.lines.count() for order in CustomerOrder.objects.all()} == {
        "A-1": 2,
        "A-2": 1,
    }


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("A-9;Hollin Wells;nothing;3;2031-05-04", "is not a product in the book"),
        ("A-9;Nobody;Salve 50 g;3;2031-05-04", "There is no customer"),
        ("A-9;Hollin Wells;Salve 50 g;some;2031-05-04", "is not a number of pieces"),
        ("A-9;Hollin Wells;Salve 50 g;3;3/4/2031", "can be two days"),
        (";Hollin Wells;Salve 50 g;3;2031-05-04", "no order number"),
    ],
)
def test_a_file_with_a_row_that_cannot_be_read_is_not_taken_in(
    signed_in: Any, row: str, said: str
) -> None:
    shop = build.shop()
    text = file_of(shop) + row
    columns = {"number": 0, "customer": 1, "product": 2, "units": 3, "due_on": 4}
    sent = {**columns, "text": text, "take": "1", "token": new_token()}
    answer = signed_in().post(reverse("planning:order-file"), sent)
    assertContains(answer, "Row 5:")
    assertContains(answer, said)
    assert not CustomerOrder.objects.exists()


@pytest.mark.parametrize("content", [b"", b"one row only", b"\x00\x01\x02;;;", b"a,b,c"])
def test_what_is_no_file_of_orders_is_refused_in_words(signed_in: Any, content: bytes) -> None:
    file = BytesIO(content)
    file.name = "orders.csv"
    answer = signed_in().post(reverse("planning:order-file"), {"file": file})
    assert answer.status_code == 200
    assert answer.context["form"].errors["file"]


# ---- buying -------------------------------------------------------------------------------------


def test_what_is_short_is_ordered_by_supplier_and_arrives_as_a_receipt(signed_in: Any) -> None:
    shop = build.shop(wax_g=0)
    fen = build.supplier()
    build.terms(shop.wax, supplier=fen, lead_days=9, pack_size=Decimal(500))
    build.order(shop, 30, due_on=make.day(4))
    client, page = signed_in(), reverse("planning:buy")
    shown = client.get(page)
    assertContains(shown, "should have gone out earlier")
    assertContains(shown, "days late")
    sent = {"token": new_token(), f"order-{shop.wax.pk}": "1", f"amount-{shop.wax.pk}": "500"}
    answer = client.post(page, sent, follow=True)
    order = PurchaseOrder.objects.get()
    assertContains(answer, f"Written: {order} to {fen}")
    assertContains(answer, "500.0\u202fg Beeswax")
    assert order.expected_on == make.day(9)
    # What is on order is not ordered again.
    after = client.get(page)
    assertNotContains(after, f'name="order-{shop.wax.pk}"')
    assertContains(after, "ask for earlier delivery")
    receipt = answer.context["receipt"]
    filled = client.get(receipt)
    assertContains(filled, 'value="500 g"')
    assertContains(filled, f'<option value="{fen.pk}" selected>')


def test_an_order_is_over_once_it_has_come_or_was_ended(signed_in: Any) -> None:
    shop = build.shop()
    order = build.purchase(shop.wax, 500, of=(fen := build.supplier()))
    client = signed_in()
    page = reverse("planning:purchase", args=[order.number])
    assertContains(client.get(page), "Receive this delivery")
    goods.receipt(goods.arrived(shop.wax, grams=500), of=fen, received_on=make.DAY)
    assert Receipt.objects.exists()
    assertNotContains(client.get(page), "Receive this delivery")
    other = build.purchase(shop.oil, 500, of=fen)
    ended = reverse("planning:purchase", args=[other.number])
    assertContains(client.post(ended, {"token": new_token()}), "This field is required")
    sent = {"reason": "Sold out for good", "token": new_token()}
    assertContains(client.post(ended, sent, follow=True), "Sold out for good")
    assertContains(client.get(reverse("planning:purchases")), order.number)


def test_an_order_leaves_as_paper_text_and_cells(signed_in: Any) -> None:
    shop = build.shop()
    order = build.purchase(shop.wax, 500)
    client = signed_in()
    args = [order.number]
    assert "Beeswax" in words_of(client.get(reverse("planning:purchase-paper", args=args)))
    cells = client.get(reverse("planning:purchase-csv", args=args)).content.decode()
    assert cells.splitlines()[1].endswith("Beeswax,500,g")


@pytest.mark.parametrize(
    ("typed", "said"),
    [({}, "Tick what is to be ordered."), ({"amount": "much"}, "is not a number")],
)
def test_orders_that_cannot_be_written_say_why(
    signed_in: Any, typed: dict[str, str], said: str
) -> None:
    shop = build.shop(wax_g=0)
    build.terms(shop.wax, supplier=build.supplier(), lead_days=9)
    build.order(shop, 30)
    sent = {"token": new_token()}
    if typed:
        sent |= {f"order-{shop.wax.pk}": "1", f"amount-{shop.wax.pk}": typed["amount"]}
    assertContains(signed_in().post(reverse("planning:buy"), sent), said)
    assert not PurchaseOrder.objects.exists()


def test_what_no_formula_names_is_ordered_again_at_its_minimum(signed_in: Any) -> None:
    build.shop()
    carton = make.item(ItemKind.PACKAGING, name="Carton of twelve")
    make.lot(carton, on_hand=10)
    build.terms(carton, minimum_stock=Decimal(25), pack_size=Decimal(20), lead_days=3)
    answer = signed_in().get(reverse("planning:buy"))
    assertContains(answer, "Carton of twelve")
    assertContains(answer, 'value="20"')


def test_terms_of_an_item_are_kept_and_its_weeks_shown(signed_in: Any) -> None:
    shop = build.shop()
    build.order(shop, 30)
    client = signed_in()
    page = reverse("planning:item", args=[shop.oil.code])
    assertContains(client.get(page), "The weeks ahead")
    sent = {"minimum_stock": "6 000", "lead_days": "14", "pack_size": "5000", "token": new_token()}
    assertContains(client.post(page, sent, follow=True), "should have been ordered by")
    assert Terms.objects.get().lead_days == 14
    # With what an order and holding cost, the page says how much at a time is cheapest.
    costs.rates()
    assertContains(client.get(page), "Enter below what one order costs")
    costs.paid(goods.lot(shop.oil, grams=1000), "8.00")
    sent |= {"order_cost": "10", "holding_percent": "25", "token": new_token()}
    answer = client.post(page, sent, follow=True)
    assertContains(answer, "the cheapest there is")
    ways = {way["name"]: way for way in answer.context["sizes"]["ways"]}
    assert Decimal(ways["the cheapest there is"]["cost"]) <= min(
        Decimal(way["cost"]) for way in ways.values()
    )
    assertContains(client.post(page, sent | {"order_cost": "0"}), "at least")
    product = reverse("planning:item", args=[shop.product.item.code])
    assertNotContains(client.get(product), "lead_days")
    wanted = {"minimum_stock": "0", "wanted_per_week": "12", "token": new_token()}
    client.post(product, wanted)
    assertContains(client.get(reverse("planning:cover")), "as entered")


# ---- stock --------------------------------------------------------------------------------------


def test_what_will_expire_unused_is_shown_with_what_is_left_over(signed_in: Any) -> None:
    shop = build.shop()
    lot = make.dated(shop.lots["oil"], make.day(30))
    client = signed_in(Role.INSPECTOR)
    answer = client.get(reverse("planning:expiry"))
    assertContains(answer, "1 lot will expire partly unused")
    assertContains(answer, str(lot))
    paper = words_of(client.get(reverse("planning:expiry-paper")))
    # A thin space may be read back as none.
    assert paper.replace("\u202f", "").replace(" ", "").count("5000.0g") == 3


def test_cover_says_for_how_many_weeks_a_product_lasts(signed_in: Any) -> None:
    shop = build.shop()
    make.lot(shop.product.item, on_hand=30)
    build.terms(shop.product.item, wanted_per_week=Decimal(20))
    client = signed_in()
    assertContains(client.get(reverse("planning:cover")), "1.5 weeks")
    assert "1.5 weeks" in words_of(client.get(reverse("planning:cover-paper")))


PAGES = ["home", "cover", "expiry", "buy", "orders", "purchases"]


@pytest.mark.parametrize("page", PAGES)
def test_a_page_takes_as_many_queries_for_much_as_for_little(signed_in: Any, page: str) -> None:
    shop = build.shop()
    build.order(shop, 30)
    build.purchase(shop.wax, 500)
    make.dated(shop.lots["oil"], make.day(40))
    client = signed_in()
    address = week_address() if page == "home" else reverse(f"planning:{page}")
    client.get(address)
    with CaptureQueriesContext(connection) as few:
        client.get(address)
    for number in range(3):
        more = packing.product(
            bulk=shop.bulk, container=shop.tin, fill_g=Decimal(20), name=f"Salve {number}"
        )
        make.lot(more.item, on_hand=3, best_before=make.day(60))
        build.order(shop, 9, number=f"M-{number}", product=more)
        build.purchase(shop.oil, 100, of=build.supplier(f"Supplier {number}"))
    with CaptureQueriesContext(connection) as many:
        client.get(address)
    assert len(many) <= len(few), page


def test_a_week_far_off_or_odd_is_the_usual_one(signed_in: Any) -> None:
    client = signed_in()
    for odd in ("1999-01-01", "2399-01-01", "2026-13-45", "yes"):
        assert client.get(reverse("planning:home"), {"week": odd}).status_code == 200
    later = build.monday() + timedelta(days=7)
    answer = client.get(reverse("planning:home"), {"week": later.isoformat()})
    assertContains(answer, f"The week of {later.day}")


def test_today_says_what_is_short_and_what_to_order(signed_in: Any) -> None:
    shop = build.shop(wax_g=0)
    build.terms(shop.wax, lead_days=9)
    client = signed_in()
    part = reverse("planning:short")
    assertContains(client.get(reverse("front:today"), {"stay": 1}), part)
    assertNotContains(client.get(part), "short within")
    build.order(shop, 30, due_on=make.day(3))
    assertContains(client.get(part), "Salve 50 g")
    assertContains(client.get(part), "1 should have been ordered already")
    packer = signed_in(Role.PACKER).get(part)
    assertContains(packer, "falls short within seven days")
    assertNotContains(packer, "See what to buy")
