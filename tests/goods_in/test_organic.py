"""What is done about organic status: certificates stopped, lots judged, papers, suppliers."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django.asserts import assertContains

from tests import make
from tests.goods_in import build
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.goods_in import services
from workshop.goods_in.bought_lot_organic_status import organic_lots
from workshop.goods_in.delivery_checks import Papers, papers_missing
from workshop.goods_in.lot_composition import composition_of
from workshop.goods_in.models import Certificate, StopKind, Supplier, Verdict
from workshop.ledger.models import Item, Lot, Status
from workshop.rules.organic.fraud_prevention import AT_RECEIPT

pytestmark = pytest.mark.django_db
DAY, ONE = make.DAY, timedelta(days=1)


def acted(**values: Any) -> dict[str, Any]:
    return {
        "by": make.user(),
        "at": make.NOON,
        "token": new_token(),
        "reason": "By letter",
        **values,
    }


def covered() -> tuple[Item, Supplier, Certificate]:
    oil, of = build.material(), build.supplier("Hill Apiaries LLC")
    return oil, of, build.certificate(of, [oil], operation_number="8150001234")


def organic_lot(oil: Item, of: Supplier, paper: Certificate, **values: Any) -> Lot:
    taken = build.receipt(build.arrived(oil, is_organic=True, certificate=paper), of=of, **values)
    found: Lot = taken.lines.get().lot
    return found


def is_organic(lot: Lot) -> bool:
    (part,) = composition_of(lot)
    return part.is_organic


def test_lot_keeps_what_the_certificate_said_when_it_came_in() -> None:
    oil, of, paper = covered()
    line = organic_lot(oil, of, paper).receipt_line
    services.save_certificate(
        {"operation_number": "8150009999"}, by=make.user(), at=make.NOON, certificate=paper
    )
    line.refresh_from_db()

    assert (line.scheme, line.operation_number) == ("NOP", "8150001234")


def test_suspension_stops_new_receipts_and_holds_lots_that_stay_what_they_were() -> None:
    oil, of, paper = covered()
    lot = make.put(organic_lot(oil, of, paper, received_on=DAY - ONE), Status.RELEASED)
    stop = services.stop_certificate(paper, StopKind.SUSPENDED, from_day=DAY, lots=[lot], **acted())
    lot.refresh_from_db()

    assert stop.held == [str(lot)]
    assert lot.status == Status.ON_HOLD
    assert is_organic(lot)
    with pytest.raises(ActionRefused, match="is suspended from"):
        organic_lot(oil, of, paper)
    assert organic_lot(oil, of, paper, received_on=DAY - ONE).pk

    services.stop_certificate(paper, StopKind.REINSTATED, from_day=DAY, **acted())
    assert organic_lot(oil, of, paper).pk


def test_only_an_owner_stops_a_certificate_and_says_why_on_a_day_that_came() -> None:
    _, _, paper = covered()
    for wrong, sentence in (
        ({"by": make.user(Role.PACKER)}, "Only an owner"),
        ({"reason": " "}, "Say why"),
        ({"from_day": DAY + ONE}, "is in the future"),
    ):
        with pytest.raises(ActionRefused, match=sentence):
            services.stop_certificate(
                paper, StopKind.REVOKED, **{"from_day": DAY, **acted(**wrong)}
            )
    assert not paper.stops.exists()


def test_decision_about_a_lot_counts_whatever_it_was_received_as() -> None:
    oil, of, paper = covered()
    lot = make.put(organic_lot(oil, of, paper), Status.RELEASED)
    services.decide_organic(lot, is_organic=False, **acted(reason="Residue found"))

    assert not is_organic(lot)
    assert list(organic_lots(oil.lots.available(on=DAY))) == []

    services.decide_organic(lot, is_organic=True, certificate=paper, **acted(reason="Retested"))
    assert is_organic(lot)
    assert list(organic_lots(oil.lots.available(on=DAY))) == [lot]


def test_lot_becomes_organic_only_by_a_certificate_that_held_when_it_came_in() -> None:
    oil, of, _ = covered()
    lot = build.receipt(build.arrived(oil), of=of).lines.get().lot
    later = build.certificate(of, [oil], valid_from=DAY + ONE)
    others = build.certificate(build.supplier(), [oil])

    for paper in (None, later, others):
        with pytest.raises(ActionRefused, match="Choose a certificate of Hill Apiaries LLC"):
            services.decide_organic(lot, is_organic=True, certificate=paper, **acted())
    assert not is_organic(lot)


@pytest.mark.parametrize(
    ("name", "status"),
    [  # handler plan guide to 7 CFR 205.201(a)(3): papers and certificate name the same
        ("hill apiaries  llc", Status.QUARANTINE),
        ("Hill Trading Inc.", Status.ON_HOLD),
        ("", Status.QUARANTINE),
    ],
)
def test_papers_in_another_name_hold_an_organic_lot(name: str, status: Status) -> None:
    oil, of, paper = covered()
    lot = organic_lot(oil, of, paper, papers=Papers(name_on_papers=name, checked_on=DAY))
    lot.refresh_from_db()

    assert lot.status == status


def test_receipt_tells_what_nobody_looked_at() -> None:
    oil, of, paper = covered()
    seen = Papers("Hill Apiaries LLC", checked_on=DAY, practices=("package", "travels"))
    receipt = organic_lot(oil, of, paper, papers=seen).receipt_line.receipt
    plain = build.receipt(build.arrived(build.packaging(), grams=10))

    assert papers_missing(receipt, receipt.lines.all()) == [
        one.words for one in AT_RECEIPT if one.key not in seen.practices
    ]
    assert papers_missing(plain, plain.lines.all()) == []


def test_supplier_is_approved_on_answers_with_a_day_to_look_again() -> None:
    of = build.supplier()
    values = {"verdict": Verdict.CONDITIONAL, "next_review": DAY + 365 * ONE, "reason": "New"}
    answers = {"certificate": {"is_done": True, "on": DAY.isoformat(), "evidence": "by post"}}
    act: dict[str, Any] = {"by": make.user(), "at": make.NOON, "token": new_token()}
    made = services.review_supplier(of, values, answers=answers, **act)

    assert services.review_supplier(of, values, answers=answers, **act) == made
    assert (made.verdict, made.answers) == ("conditional", answers)
    with pytest.raises(ActionRefused, match="in the future"):
        services.review_supplier(
            of, {**values, "next_review": DAY}, answers={}, **{**act, "token": new_token()}
        )


def test_page_of_an_approval_shows_the_day_of_each_answer(client: Client) -> None:
    of = build.supplier()
    values = {"verdict": Verdict.APPROVED, "next_review": DAY + 365 * ONE, "reason": "Known"}
    answers = {"certificate": {"is_done": True, "on": "2026-09-01", "evidence": "by post"}}
    act: dict[str, Any] = {"by": make.user(), "at": make.NOON, "token": new_token()}
    services.review_supplier(of, values, answers=answers, **act)
    client.force_login(make.user())

    page = client.get(reverse("goods_in:review-supplier", args=[of.pk]))

    assertContains(page, '<time datetime="2026-09-01">1 Sep 2026</time>')
