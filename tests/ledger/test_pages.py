"""The stock pages as people see them."""

from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pytest_django.asserts import assertContains, assertNotContains

from tests import make
from workshop.core.models import Role
from workshop.ledger import services, stock_queries
from workshop.ledger.models import ItemKind, Lot, OperationKind, Shed, Side, Status

pytestmark = pytest.mark.django_db


def queries(client: Any, address: str) -> int:
    with CaptureQueriesContext(
        connection,
    ) as caught:
        assert client.get(address).status_code == 200
    return len(caught)


def test_stock_adds_up_an_items_lots(signed_in: Any) -> None:
    wax = make.item(name="Beeswax, yellow")
    make.lot(wax, on_hand=Decimal("1842.5"))
    make.lot(wax, on_hand=500, status=Status.QUARANTINE)

    page = signed_in().get(reverse("ledger:home"))

    assertContains(page, "2\u202f342.5")
    assertContains(page, "1\u202f842.5")


def test_stock_is_narrowed_by_kind_and_name(signed_in: Any) -> None:
    make.item(name="Beeswax")
    make.item(ItemKind.PACKAGING, name="Tin 60 g")
    client = signed_in()

    assertNotContains(client.get(reverse("ledger:home"), {"kind": "packaging"}), "Beeswax")
    assertNotContains(client.get(reverse("ledger:home"), {"q": "BEES"}), "Tin 60 g")
    assertContains(
        client.get(reverse("ledger:home"), {"q": "'%", "page": "x"}), "Nothing in this list"
    )


@pytest.mark.parametrize("name", ["home", "item", "lot"])
def test_stock_pages_take_the_same_queries_for_any_number_of_rows(
    signed_in: Any, name: str
) -> None:
    client, item = signed_in(Role.PACKER), make.item()
    lot = make.lot(item)
    arguments = {"home": [], "item": [item.code], "lot": [lot.code]}[name]
    address = reverse(f"ledger:{name}", args=arguments)
    queries(client, address)
    few = queries(client, address)
    for _ in range(4):
        make.lot(make.item())
        make.lot(item)
        batch = make.operation(OperationKind.BATCH)
        services.post(batch, lot, Side.IN, Decimal(1), by=batch.opened_by, at=make.NOON)

    assert queries(client, address) == few


def test_item_page_shows_used_up_lots_only_when_asked(signed_in: Any) -> None:
    item = make.item()
    empty = make.lot(item, on_hand=0)
    client, address = signed_in(), reverse("ledger:item", args=[item.code])

    assertNotContains(client.get(address), empty.shown_code)
    assertContains(client.get(address, {"all": "yes"}), empty.shown_code)


def test_lot_page_accounts_for_every_gram(signed_in: Any) -> None:
    lot, owner = make.lot(on_hand=1000), make.user()
    batch = make.operation(OperationKind.BATCH)
    taken = services.post(batch, lot, Side.IN, Decimal(300), by=owner, at=make.NOON)
    services.reverse(taken, by=owner, at=make.NOON, reason="wrong drum")
    services.post(batch, lot, Side.IN, Decimal(250), by=owner, at=make.NOON)
    services.discard(lot, Decimal(50), by=owner, at=make.NOON, reason="spilt", token="d")
    services.count_lot(lot, Decimal(690), by=owner, at=make.NOON, reason="residue", token="c")

    page = signed_in().get(reverse("ledger:lot", args=[lot.shown_code.lower()]))

    balance = page.context["balance"]
    assert (balance.came_in, balance.used, balance.discarded) == (1000, 250, 50)
    assert (balance.counted, balance.on_hand, balance.unaccounted) == (-10, 690, 0)
    assertContains(page, "wrong drum")


def test_lot_below_zero_asks_to_be_counted(signed_in: Any) -> None:
    lot, batch = make.lot(on_hand=3), make.operation(OperationKind.BATCH)
    services.post(batch, lot, Side.IN, Decimal(5), by=batch.opened_by, at=make.NOON)

    assertContains(
        signed_in().get(reverse("ledger:lot", args=[lot.code])), "The book is below zero"
    )


def test_count_with_a_comma_is_written(signed_in: Any) -> None:
    lot, client = make.lot(on_hand=100), signed_in(Role.MAKER)

    page = client.post(
        reverse("ledger:count", args=[lot.code]),
        {"counted": "97,5", "reason": "spilt", "token": "t"},
        follow=True,
    )

    assertContains(page, "C-")
    assertContains(page, "97.5\u202fg counted of lot")
    assert services.on_hand(lot) == Decimal("97.5")


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("ninety", "“ninety” is not a number."),
        ("1,000.5", "both a comma and a point"),
        ("-1", "It must be at least 0."),
        ("1e999", "not a number that can be kept"),
        ("0.0001", "at most 3 decimal places"),
        ("99", "The book says otherwise: say why"),
        ("", "This field is required."),
    ],
)
def test_count_that_cannot_be_keeps_the_typing(signed_in: Any, typed: str, sentence: str) -> None:
    lot, client = make.lot(on_hand=100), signed_in()

    page = client.post(
        reverse("ledger:count", args=[lot.code]), {"counted": typed, "reason": "", "token": "t"}
    )

    assertContains(page, sentence)
    assertContains(page, f'value="{typed}"' if typed else 'name="counted"')
    assert services.on_hand(lot) == 100


def test_discard_of_too_much_is_refused_in_words(signed_in: Any) -> None:
    lot, client = make.lot(on_hand=100), signed_in()

    page = client.post(
        reverse("ledger:discard", args=[lot.code]),
        {"quantity": "200", "reason": "mould", "token": "t"},
    )

    assertContains(page, "holds 100.0\u202fg, not 200.0\u202fg.")


def test_owner_puts_a_lot_on_hold_with_a_reason(signed_in: Any) -> None:
    lot, client = make.lot(), signed_in()
    address = reverse("ledger:status", args=[lot.code])

    assertContains(client.post(address, {"status": "on_hold", "reason": ""}), "Say why.")
    client.post(address, {"status": "on_hold", "reason": "rancid smell"})

    assert Lot.objects.get(pk=lot.pk).status == Status.ON_HOLD


def test_unknown_lot_is_not_in_the_book(signed_in: Any) -> None:
    for code in ("ABCDEFG", "..", "7HW4-Q2K-and-more", "x" * 300):
        assert signed_in().get(f"/stock/lot/{code}/").status_code == 404


def test_null_character_is_answered_at_the_door(signed_in: Any) -> None:
    for address in ("/stock/?q=%00", "/stock/lot/%00/"):
        assert signed_in().get(address).status_code == 400


def test_what_left_a_lot_in_store_is_said_by_its_kind(signed_in: Any) -> None:
    lot, client = make.lot(on_hand=100), signed_in(Role.MAKER)
    address = reverse("ledger:loss", args=[lot.code])
    lost = {
        "kind": "spilled",
        "quantity": "2,5",
        "is_estimated": "on",
        "reason": "Jug",
        "token": "t",
    }

    page = client.post(address, lost, follow=True)

    assertContains(page, "2.5\u202fg of lot")
    assertContains(page, "2.5\u202fg spilled, estimated by eye")
    client.post(address, lost)
    assert services.on_hand(lot) == Decimal("97.5")
    assert stock_queries.balance(lot).shed == Decimal("2.5")


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("101", "holds 100.0\u202fg, not 101.0\u202fg"),
        ("0", "It must be at least 0.001."),
        ("", "This field is required."),
    ],
)
def test_loss_that_cannot_be_keeps_the_typing(signed_in: Any, typed: str, sentence: str) -> None:
    lot, client = make.lot(on_hand=100), signed_in()
    lost = {"kind": "sampled", "quantity": typed, "token": "t"}

    page = client.post(reverse("ledger:loss", args=[lot.code]), lost)

    assertContains(page, sentence)
    assert services.on_hand(lot) == 100
    assert not Shed.objects.exists()


def test_pieces_are_written_off(signed_in: Any) -> None:
    lot = make.lot(make.item(ItemKind.PACKAGING), on_hand=100)

    answer = signed_in().get(reverse("ledger:loss", args=[lot.code]))

    assert answer.url == reverse("ledger:discard", args=[lot.code])
