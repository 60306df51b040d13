"""Finished lots held against their labels: on Today, and on a page of their own."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from tests import make
from tests.labels.test_design_pages import text
from tests.labels.test_truth import Bench, extra
from workshop.core.models import Role, User
from workshop.labels import services
from workshop.labels.deciding import decide
from workshop.labels.review import finished_in_stock, unlabelled, untrue_of
from workshop.ledger.models import Lot, Status

pytestmark = pytest.mark.django_db

SOON = date(2026, 12, 1)


@pytest.fixture
def owner() -> User:
    return make.user(Role.OWNER)


def waiting() -> list[Lot]:
    return [standing.label.lot for standing in untrue_of(unlabelled(on=SOON))]


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
    assert [one.label.lot for one in untrue_of(finished_in_stock())] == [lot]


def test_rejected_and_old_lots_wait_for_no_label(owner: User) -> None:
    lot = extra(Bench(), owner)
    assert list(unlabelled(on=date(2027, 1, 15))) == []

    make.put(lot, Status.REJECTED)

    assert lot not in unlabelled(on=SOON)


def test_today_asks_for_the_list_and_links_the_page(client: Client, owner: User) -> None:
    lot = extra(Bench(), owner)
    client.force_login(owner)

    today = text(client.get(reverse("front:today")))
    page = text(client.get(reverse("labels:untrue")))

    assert f'hx-get="{reverse("labels:untrue-waiting")}"' in today
    assert reverse("labels:untrue") in today
    assert "Labels held against their lots: 1 untrue" in page
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

    assert "Every label is true of its lot" in text(client.get(reverse("labels:untrue")))
    assert text(client.get(reverse("labels:untrue-waiting"))) == ""
