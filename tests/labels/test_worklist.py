"""Finished lots held against their labels: on Today, and on a page of their own."""

from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests import make
from tests.labels import build
from tests.labels.test_design_pages import text
from tests.labels.test_print_status import Bench, extra
from workshop.core.models import Role, User
from workshop.labels import services
from workshop.labels.approval.worklist import finished_in_stock, mismatched, unlabelled
from workshop.labels.content.lot_facts import facts_of_lots
from workshop.labels.services import designs
from workshop.labels.services.decisions import decide
from workshop.ledger.models import Lot, Status
from workshop.materials.models import Constituency
from workshop.materials.services.data_sheets import save_contents

pytestmark = pytest.mark.django_db

SOON = make.day(6)


@pytest.fixture
def owner() -> User:
    return make.user(Role.OWNER)


def waiting() -> list[Lot]:
    return [standing.label.lot for standing in mismatched(unlabelled(on=SOON))]


def test_lot_whose_label_would_be_untrue_waits_until_it_is_decided(owner: User) -> None:
    bench = Bench()
    lot = extra(bench, owner)
    bench.usual()
    assert waiting() == [lot]

    decide(lot, "relabel", by=owner, at=make.NOON, reason="Stock.", token="d")

    assert waiting() == []


def test_lot_that_was_labelled_before_a_change_is_told_on_the_page_alone(owner: User) -> None:
    bench = Bench()
    lot = bench.usual()
    services.log_print(lot, 10, by=owner, at=make.NOON)
    bench.approve(bench.lot((bench.olive, 800), (bench.wax, 200)), owner)

    assert waiting() == []
    assert [one.label.lot for one in mismatched(finished_in_stock())] == [lot]


def test_rejected_and_old_lots_wait_for_no_label(owner: User) -> None:
    lot = extra(Bench(), owner)
    assert list(unlabelled(on=make.day(51))) == []

    make.put(lot, Status.REJECTED)

    assert lot not in unlabelled(on=SOON)


def test_today_asks_for_the_list_and_links_the_page(client: Client, owner: User) -> None:
    lot = extra(Bench(), owner)
    client.force_login(owner)

    today = text(client.get(reverse("front:today")))
    page = text(client.get(reverse("labels:untrue")))

    assert f'hx-get="{reverse("labels:untrue-waiting")}"' in today
    assert reverse("labels:untrue") in today
    assert "Labels checked against their lots: 1 does not match" in page
    assert ">1</b>" in text(client.get(reverse("labels:untrue-waiting")))
    assert f"Lot {lot} holds Rosmarinus Extract (0.5 %)" in page
    assert reverse("labels:decide", args=[lot.code]) in page


def test_packer_sees_the_sentence_and_no_decision(client: Client, owner: User) -> None:
    lot = extra(Bench(), owner)
    client.force_login(make.user(Role.PACKER))

    page = text(client.get(reverse("labels:untrue")))

    assert f"Lot {lot} holds Rosmarinus Extract (0.5 %)" in page
    assert reverse("labels:decide", args=[lot.code]) not in page


def test_nothing_untrue_says_so(client: Client, owner: User) -> None:
    Bench().usual()
    client.force_login(owner)

    assert "Every label matches its lot" in text(client.get(reverse("labels:untrue")))
    assert ">0</b>" in text(client.get(reverse("labels:untrue-waiting")))


def asked(client: Client) -> int:
    with CaptureQueriesContext(connection) as queries:
        answer = client.get(reverse("labels:untrue"))
    assert answer.status_code == 200
    return len(queries)


def another(bench: Bench, kind: int) -> None:
    """A lot of a product of its own, in one of several states."""
    owner = make.user()
    bench.product = None
    lot = bench.usual() if kind % 2 else extra(bench, owner)
    design = {"sold_in_us": True, "sold_in_eu": True, "has_e_mark": True}
    designs.save_design(lot.item.product, design, by=owner, at=make.NOON)
    if kind % 3 == 1:
        services.log_print(bench.usual(), 10, by=owner, at=make.NOON)
    if kind == 4:
        decide(lot, "relabel", by=owner, at=make.NOON, reason="Stock.", token="d")


def test_page_of_untrue_labels_asks_as_often_for_many_lots_as_for_one(
    client: Client, owner: User
) -> None:
    client.force_login(owner)
    bench = Bench()
    save_contents(bench.olive, {"Linalool": Decimal("0.1")}, by=owner, at=make.NOON)
    asked(client)
    another(bench, 0)
    for_one = asked(client)
    for kind in range(1, 7):
        another(bench, kind)

    assert asked(client) == for_one
    assert len(list(finished_in_stock())) > 6


def test_lot_that_cannot_be_told_hides_none_of_the_others(owner: User) -> None:
    bench = Bench()
    banned = build.oil("Scent", constituency=Constituency.FRAGRANCE)
    save_contents(banned, {"Lilial": Decimal("0.1")}, by=owner, at=make.NOON)
    spoilt = bench.lot((bench.olive, 900), (banned, 100))
    design = {"sold_in_us": True, "sold_in_eu": True}
    designs.save_design(spoilt.item.product, design, by=owner, at=make.NOON)
    bench.product = None
    lot = extra(bench, owner)

    facts = facts_of_lots([spoilt, lot])

    assert [one.label.lot for one in mismatched([spoilt, lot])] == [lot]
    assert str(facts[spoilt.pk].allergens).startswith("Butylphenyl Methylpropional is prohibited")
    assert facts[lot.pk].allergens == {}


@pytest.fixture
def shelf(owner: User) -> dict[str, Lot]:
    """A lot to label, one that is labelled, and one on hold."""
    bench = Bench()
    lots = {name: bench.usual() for name in ("new", "labelled", "held")}
    services.log_print(lots["labelled"], 10, by=owner, at=make.NOON)
    make.put(lots["held"], Status.ON_HOLD)
    return lots


def ways_to_print(page: Any, shelf: dict[str, Lot]) -> list[str]:
    """For which of the lots a page links to the printing of labels."""
    words = page.content.decode()
    links = {name: reverse("labels:print", args=[lot.code]) for name, lot in shelf.items()}
    return [name for name, link in links.items() if f'"{link}"' in words]


@pytest.mark.parametrize(
    ("place", "offered"),
    [("labels:unlabelled", ["new"]), ("packing:home", ["new", "labelled"]),
     ("packing:awaiting", ["new", "labelled"])],
)  # fmt: skip
def test_lists_lead_to_printing(
    client: Client, shelf: dict[str, Lot], place: str, offered: list[str]
) -> None:
    client.force_login(make.user(Role.PACKER))
    assert ways_to_print(client.get(reverse(place)), shelf) == offered

    client.force_login(make.user(Role.INSPECTOR))
    assert ways_to_print(client.get(reverse(place)), shelf) == []


def test_last_runs_lead_to_printing(client: Client, shelf: dict[str, Lot]) -> None:
    client.force_login(make.user(Role.PACKER))

    page = client.get(reverse("packing:runs"))

    assert ways_to_print(page, shelf) == ["new", "labelled"]


def test_page_of_a_lot_leads_to_printing_while_it_may_be_printed(
    client: Client, shelf: dict[str, Lot]
) -> None:
    def offered() -> list[str]:
        pages = {
            name: client.get(reverse("ledger:lot", args=[lot.code])) for name, lot in shelf.items()
        }
        return [name for name, page in pages.items() if ways_to_print(page, {name: shelf[name]})]

    client.force_login(make.user(Role.PACKER))
    assert offered() == ["new", "labelled"]

    client.force_login(make.user(Role.MAKER))
    assert offered() == []


@pytest.mark.parametrize("place", ["labels:home", "packing:home"])
def test_label_log_and_packing_lead_to_the_lots_to_label(client: Client, place: str) -> None:
    client.force_login(make.user(Role.PACKER))

    page = client.get(reverse(place))

    assert f'href="{reverse("labels:unlabelled")}"' in page.content.decode()


def test_lots_to_label_are_as_many_queries_as_one(client: Client, owner: User) -> None:
    bench, address = Bench(), reverse("labels:unlabelled")
    client.force_login(owner)
    counts = []
    for _ in range(2):
        bench.usual()
        client.get(address)
        with CaptureQueriesContext(connection) as asked:
            client.get(address)
        counts.append(len(asked))

    assert counts[0] == counts[1]
