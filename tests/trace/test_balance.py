"""Where every gram of a lot is: one line that closes to the milligram, for any kind of lot."""

from collections.abc import Iterator
from decimal import Decimal
from random import Random
from typing import Any

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pytest_django.asserts import assertContains

from tests import make
from tests.dispatch import build as dispatch
from tests.trace import build
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.dispatch.models import Customer
from workshop.ledger import services as ledger
from workshop.ledger.models import ItemKind, Lot, OperationKind, Posting, ShedKind, Side
from workshop.ledger.stock_queries import Balance, balance
from workshop.trace.lot.balance_postings import FIGURES, postings_of, total_of
from workshop.trace.lot.query import trace

pytestmark = pytest.mark.django_db
few = settings(max_examples=12, suppress_health_check=list(HealthCheck))


def said(held: Balance) -> dict[str, Decimal]:
    return {
        "came-in": held.came_in,
        "used": held.used,
        "sent": held.sent,
        "returned": held.returned,
        "discarded": held.discarded,
        "shed": held.shed,
        "counted": held.counted,
        "on-hand": held.on_hand,
    }


def by_hand(lot: Lot) -> dict[str, Decimal]:
    """The same figures added up posting by posting, what was taken back left out."""
    figures = dict.fromkeys(FIGURES, Decimal(0))
    for posting in Posting.objects.filter(lot=lot).select_related("operation", "reversal"):
        figures["on-hand"] += posting.quantity
        if posting.corrects_id is not None or hasattr(posting, "reversal"):
            continue
        act = OperationKind(posting.operation.kind)
        if act == OperationKind.COUNT:
            figures["counted"] += posting.quantity
        elif posting.side == Side.OUT:
            figures["returned" if act == OperationKind.RETURN else "came-in"] += posting.moved
        else:
            words = {
                OperationKind.DISPATCH: "sent",
                OperationKind.DISCARD: "discarded",
                OperationKind.SHED: "shed",
            }
            figures[words.get(act, "used")] += posting.moved
    return figures


def closes(figures: dict[str, Decimal]) -> bool:
    came = figures["came-in"] + figures["returned"] + figures["counted"]
    went = figures["used"] + figures["sent"] + figures["discarded"] + figures["shed"]
    return came - went == figures["on-hand"]


def live(plan: build.Plan, draw: Random) -> None:
    """Whatever else happens to lots: sent, back, counted, written off, a weighing taken back."""
    for number, lot in enumerate(plan.lots):
        held = balance(lot).on_hand
        if lot.item.kind == ItemKind.PRODUCT and held >= 2:
            gone = dispatch.sent((lot, draw.randint(1, int(held))), to=_shop(number))
            if draw.random() < 0.5:
                dispatch.back(gone, (lot, 1))
        if draw.random() < 0.4:
            _count(lot, draw)
        held = balance(lot).on_hand
        if held > 1 and draw.random() < 0.4:
            some = Decimal(1) if lot.item.unit == "each" else Decimal(draw.randint(1, 999)) / 1000
            ledger.discard(lot, some, reason="Spilt", **_told())
        held = balance(lot).on_hand
        if held > 1 and lot.item.unit == "g" and draw.random() < 0.3:
            some = Decimal(draw.randint(1, 999)) / 1000
            ledger.shed_in_store(
                lot, draw.choice([ShedKind.DRIED, ShedKind.TRIMMED]), some, **_told()
            )
    _take_back(draw)


def _shop(number: int) -> Customer:
    return dispatch.customer(f"Shop {number}")


def _told() -> dict[str, Any]:
    return {"by": make.user(), "at": make.NOON, "token": new_token()}


def _count(lot: Lot, draw: Random) -> None:
    held = max(balance(lot).on_hand, Decimal(0))
    off = (
        draw.randint(-2, 2) if lot.item.unit == "each" else Decimal(draw.randint(-999, 999)) / 1000
    )
    ledger.count_lot(lot, max(held + off, Decimal(0)), reason="Counted", **_told())


def _take_back(draw: Random) -> None:
    """An owner opens a batch again and corrects one weighing by a milligram."""
    taken = Posting.objects.effective().filter(operation__kind=OperationKind.BATCH, side=Side.IN)
    chosen = list(taken.select_related("operation", "lot__item"))
    if not chosen:
        return  # a history of packing runs alone
    posting = draw.choice(chosen)
    by, why = make.user(), "Read from the wrong line"
    ledger.amend_operation(posting.operation, by=by, at=make.NOON, reason=why)
    ledger.reverse(posting, by=by, at=make.NOON, reason=why)
    right = posting.moved + Decimal("0.001")
    ledger.post(posting.operation, posting.lot, Side.IN, right, by=by, at=make.NOON)


@few
@given(st.randoms(use_true_random=False))
def test_balance_of_every_lot_of_a_random_history_closes(draw: Random) -> None:
    with transaction.atomic():
        plan = build.random_history(draw)
        live(plan, draw)
        for lot in plan.lots:
            found = trace(lot).balance
            assert said(found) == by_hand(lot)
            assert closes(said(found))
            assert found.unaccounted == 0
            assert {name: total_of(lot, of) for name, of in FIGURES.items()} == said(found)
        transaction.set_rollback(True)


def every_kind() -> Iterator[tuple[str, Lot]]:
    """A bought, a counted, a bulk, a returned, a corrected, a used up and a below-zero lot."""
    by, bought = make.user(), make.lot(on_hand=5000)
    ledger.count_lot(bought, Decimal("4990.125"), reason="Drips", **_told())
    ledger.discard(bought, Decimal("0.125"), reason="Dust", **_told())
    bulk = build.run(
        OperationKind.BATCH, [(bought, 900)], [(build.bulk(), 890)], by=by, wrong=[(bought, 90)]
    )[0]
    jars = build.packed((bulk, 540), units=9)
    dispatch.back(dispatch.sent((jars, 6), to=dispatch.customer("Ostrell Larder")), (jars, 2))
    scraps = make.lot(on_hand=20)
    build.batch((scraps, 20), grams=19)
    owed = make.lot(on_hand=10)
    build.batch((owed, 30), grams=29)
    yield from {
        "bought, counted and corrected": bought,
        "bulk": bulk,
        "finished and returned": jars,
        "used up": scraps,
        "below zero": owed,
        "untouched": make.lot(on_hand=0),
    }.items()


def test_each_figure_of_any_lot_opens_the_postings_it_is_the_sum_of(client: Client) -> None:
    client.force_login(make.user(Role.INSPECTOR))
    for _, lot in every_kind():
        page = client.get(reverse("trace:lot", args=[lot.code]))
        figures = said(page.context["trace"].balance)
        assert closes(figures)
        for name, figure in figures.items():
            address = reverse("trace:postings", args=[lot.code, name])
            assertContains(page, f'href="{address}"')
            opened = client.get(address)
            total = sum((row.quantity for row in opened.context["list"].page), Decimal(0))
            assert (-total if FIGURES[name].is_loss else total) == figure
            assert opened.context["total"] == figure


def test_balance_reads_as_one_line_of_plus_and_minus(client: Client) -> None:
    client.force_login(make.user(Role.INSPECTOR))
    lot = dict(every_kind())["bought, counted and corrected"]

    answer = client.get(reverse("trace:lot", args=[lot.code]))

    heads = ["Received", "Made"]
    assert any(f'<th class="num">{head}</th>' in answer.content.decode() for head in heads)
    for head in ("− Used", "− Sent out", "+ Came back", "± Stock adjustment", "= On hand"):
        assertContains(answer, f'<th class="num">{head}</th>', html=True)
    assertContains(answer, "4\u202f090.0</a>", count=1)
    assertContains(answer, "−9.875</a>", count=1)


def test_correction_stays_readable_behind_its_figure() -> None:
    bought = dict(every_kind())["bought, counted and corrected"]

    rows = list(postings_of(bought, FIGURES["used"]))

    assert [row.quantity for row in rows] == [-90, 90, -900]
    assert [row.corrects_id is not None for row in rows] == [False, True, False]
