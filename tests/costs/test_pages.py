"""The pages of money: an owner enters what things cost and reads what the book makes of it."""

from decimal import Decimal
from io import BytesIO
from typing import Any

import openpyxl
import pytest
from django.urls import reverse
from pytest_django.asserts import assertContains, assertNotContains, assertRedirects

from tests import make
from tests.costs import build
from tests.goods_in import build as goods
from tests.packing import build as packing
from tests.trace import build as history
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.costs.models import Invoice, Rates, SalesPrice, WorkTime

pytestmark = pytest.mark.django_db


def test_book_without_a_currency_asks_for_it_first(signed_in: Any) -> None:
    client = signed_in()
    assertRedirects(client.get(reverse("costs:home")), reverse("costs:rates"))
    sent = {
        "from_on": make.iso(),
        "currency": "CHF",
        "labour_per_hour": "32,50",
        "overhead_percent": "15",
        "token": new_token(),
    }
    client.post(reverse("costs:rates"), sent)
    client.post(reverse("costs:rates"), sent)  # sent twice
    kept = Rates.objects.get()
    assert (kept.currency, kept.labour_per_hour) == ("CHF", Decimal("32.5"))
    odd = {**sent, "token": new_token(), "labour_per_hour": "1.234"}
    assertContains(client.post(reverse("costs:rates"), odd), "at most 2 decimals")


@pytest.mark.parametrize("role", [Role.MAKER, Role.PACKER, Role.INSPECTOR])
def test_money_is_the_owners_alone(signed_in: Any, role: Role) -> None:
    assert signed_in(role).get(reverse("costs:home")).status_code == 403


def test_invoice_of_a_delivery_is_entered_line_by_line(signed_in: Any) -> None:
    build.rates()
    receipt = goods.receipt(
        goods.arrived(goods.material("Hazel oil"), grams=25_000),
        goods.arrived(goods.material("Wax of bees"), grams=10_000),
    )
    oil, wax = receipt.lines.all()
    page = reverse("costs:invoice", args=[receipt.operation.reference])
    client = signed_in()
    assertContains(client.get(page), "Hazel oil")
    sent = {
        "currency": "EUR",
        "exchange_rate": "1",
        "freight": "45,00",
        "spread_by": "value",
        "token": new_token(),
        f"line-{oil.pk}-price": "6.00",
        f"line-{oil.pk}-per": "unit",
        f"line-{wax.pk}-price": "a lot",
        f"line-{wax.pk}-per": "line",
    }
    answer = client.post(page, sent)
    assertContains(answer, "is not a number")
    assertContains(answer, "6.00")
    client.post(page, {**sent, f"line-{wax.pk}-price": "120"})
    assert Invoice.objects.get().lines.count() == 2
    assertNotContains(client.get(reverse("costs:home")), "no price yet")
    # 150 and 120, and of the freight 25 and 20.
    assertContains(client.get(reverse("costs:item", args=[oil.lot.item.code])), "7.00 EUR a kg")


def test_batch_says_what_it_cost_and_for_how_many_minutes(signed_in: Any) -> None:
    build.rates(labour="30", overhead="50")
    oil = goods.lot(grams=1000)
    build.paid(oil, "20")
    balm = history.batch((oil, 1000), grams=800)
    page = reverse("costs:made", args=[balm.origin.reference])
    client = signed_in()
    assertContains(client.get(page), "at least 20.00")
    client.post(page, {"minutes": "20", "token": new_token()})
    assert WorkTime.objects.get().minutes == 20
    answer = client.get(page)
    assertContains(answer, f"{balm.origin} cost 35.00 EUR")
    assertContains(answer, "43.75 EUR a kg")


def test_product_shows_its_margin_in_each_channel(signed_in: Any) -> None:
    build.rates()
    tin = packing.packed(units=10)
    build.price(tin.item, "10", "shops")
    client = signed_in()
    page = reverse("costs:item", args=[tin.item.code])
    token = new_token()
    sent = {"channel": "web  shop", "price": "16", "from_on": make.iso(), "token": token}
    client.post(page, sent)
    assert SalesPrice.objects.get(token=token).channel == "web shop"
    answer = client.get(reverse("costs:products"))
    assertContains(answer, "web shop")
    assertContains(answer, "100.0")  # nothing is known of its cost, and the page says at least
    assertContains(answer, "at least 0.00 EUR a piece")


def test_workbook_adds_up_in_its_cells(signed_in: Any) -> None:
    build.rates()
    oil = goods.lot(grams=1000)
    build.paid(oil, "20.01")
    history.batch((oil, 300), grams=200)
    client = signed_in()
    asked = {"first": make.iso(-3), "last": make.iso()}
    answer = client.get(reverse("costs:workbook"), asked)
    page = openpyxl.load_workbook(BytesIO(answer.content))["Period"]
    rows: list[Any] = list(page.iter_rows(min_row=4, values_only=True))
    closing = rows[-1]
    assert closing[0] == "Closing stock"
    assert closing[1] == f"=SUM(B4:B{3 + len(rows) - 1})"
    column = [row[1] for row in rows[:-1]]
    assert round(sum(column), 2) == 14.01
    assert all(row[6].startswith("=SUM(B") for row in rows[:-1])
    # The same sum on the page.
    assertContains(client.get(reverse("costs:home"), asked), "14.01")


@pytest.mark.parametrize(
    ("first", "last", "sentence"),
    [
        ("2026-02-30", "2026-03-01", "not a day of the calendar"),
        ("2026-03-02", "2026-03-01", "not before"),
    ],
)
def test_odd_period_gets_a_sentence(signed_in: Any, first: str, last: str, sentence: str) -> None:
    build.rates()
    answer = signed_in().get(reverse("costs:home"), {"first": first, "last": last})
    assertContains(answer, sentence)


def test_list_of_deliveries_asks_as_often_for_many_as_for_one(
    signed_in: Any, django_assert_max_num_queries: Any
) -> None:
    build.rates()
    client = signed_in()
    for count in (1, 4):
        for _ in range(count):
            goods.lot()
        with django_assert_max_num_queries(9):
            client.get(reverse("costs:deliveries"))
