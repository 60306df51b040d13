"""No sequence of acts lets a lot out but its room's own release."""

import ast
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule
from pytest_django.asserts import assertContains, assertNotContains

from tests import make
from tests.goods_in import build as goods_in
from tests.kettle import build as kettle
from tests.packing import build as packing
from workshop.core.errors import ActionRefused
from workshop.core.models import Role, User
from workshop.core.signature import Confirmed
from workshop.kettle import services as kettle_services
from workshop.ledger import services
from workshop.ledger.models import Lot, Status, StatusChange
from workshop.packing import services as packing_services
from workshop.rules.lot_status import MOVES

ROOT = Path(__file__).resolve().parents[2] / "workshop"


class Statuses(RuleBasedStateMachine):
    """A bulk and the tins of it, at the mercy of four people."""

    def __init__(self) -> None:
        super().__init__()
        self.atomic = transaction.atomic()
        self.atomic.__enter__()
        self.people = {role: make.user(role) for role in Role}
        self.batch = kettle.poured()
        self.bulk = self.batch.operation.lots.get()
        kettle.release(self.batch)
        self.tins = packing.packed(packing.product(bulk=self.bulk.item), 5, bulk=self.bulk)
        self.released_by_its_room = {self.bulk.pk: True, self.tins.pk: False}

    @rule(
        which=st.booleans(),
        status=st.sampled_from(Status),
        role=st.sampled_from(Role),
        reason=st.sampled_from(["", " ", "looked at"]),
    )
    def move(self, *, which: bool, status: Status, role: Role, reason: str) -> None:
        """From the stock page, or any other place, without a signature."""
        lot = self.bulk if which else self.tins
        try:
            services.set_lot_status(lot, status, by=self.people[role], at=make.NOON, reason=reason)
        except ActionRefused:
            return
        # What the tins' own room would have asked was asked here too.
        self.released_by_its_room[lot.pk] = status == Status.RELEASED and lot == self.tins

    @rule(role=st.sampled_from(Role), note=st.sampled_from(["", "looked at"]), signed=st.booleans())
    def release_bulk(self, *, role: Role, note: str, signed: bool) -> None:
        by = self.people[role]
        signature = make.signed(by if signed else self.people[Role.MAKER])
        try:
            kettle_services.release_batch(
                self.batch, by=by, at=make.NOON, note=note, confirmed=signature
            )
        except ActionRefused:
            return
        self.released_by_its_room[self.bulk.pk] = role == Role.OWNER and signed

    @rule()
    def judge_anew(self) -> None:
        owner = self.people[Role.OWNER]
        for lot in (self.bulk, self.tins):
            try:
                services.set_lot_status(
                    lot,
                    Status.QUARANTINE,
                    by=owner,
                    at=make.NOON,
                    reason="looked at again",
                    confirmed=make.signed(owner),
                )
            except ActionRefused:
                continue
            self.released_by_its_room[lot.pk] = False

    @rule()
    def change_the_record(self) -> None:
        kettle.weigh(self.batch.lines.all()[0], "1.5", note="was on the slip")
        self.released_by_its_room = dict.fromkeys(self.released_by_its_room, False)

    @invariant()
    def released_only_by_the_room(self) -> None:
        for lot in Lot.objects.filter(pk__in=self.released_by_its_room):
            assert self.released_by_its_room[lot.pk] or lot.status != Status.RELEASED

    @invariant()
    def every_change_is_a_move_of_the_table(self) -> None:
        for change in StatusChange.objects.exclude(was=""):
            move = MOVES[change.was, change.now]
            assert change.by.role in move.roles
            assert change.reason or not move.needs_reason

    def teardown(self) -> None:
        transaction.set_rollback(True)
        self.atomic.__exit__(None, None, None)


class TestStatuses(Statuses.TestCase):  # type: ignore[valid-type, misc]
    """Nothing but its room's own release lets a lot out."""

    settings = settings(
        max_examples=8,
        stateful_step_count=20,
        deadline=None,
        suppress_health_check=list(HealthCheck),
    )

    @pytest.fixture(autouse=True)
    def _database(self, db: None) -> None:
        """The machine rolls each of its runs back inside the test's own transaction."""


@pytest.mark.django_db
def test_bulk_is_not_released_from_the_stock_page(signed_in: Any) -> None:
    (lot,) = kettle.pour(kettle.filled())
    client, page = signed_in(), reverse("ledger:status", args=[lot.code])

    assertContains(client.get(page), reverse("kettle:release", args=[lot.origin.reference]))
    answer = client.post(page, {"status": "released", "reason": "Looks fine."})

    assertContains(answer, f"Whether it is released is decided at {lot.origin}.")
    assert Lot.objects.get(pk=lot.pk).status == Status.QUARANTINE


@pytest.mark.django_db
def test_packed_and_received_lots_are_released_in_their_rooms(signed_in: Any) -> None:
    tins, oil = packing.packed(), goods_in.line().lot
    client = signed_in()

    for lot, address in (
        (tins, reverse("packing:run", args=[tins.origin.reference])),
        (oil, reverse("goods_in:release", args=[oil.code])),
    ):
        page = client.get(reverse("ledger:status", args=[lot.code]))
        assertContains(page, address)
        assertNotContains(page, 'value="released"')


@pytest.mark.django_db
def test_rejection_is_taken_back_by_an_owners_reason_and_password() -> None:
    lot, owner = make.lot(), make.user()
    owner.set_password("a quiet kettle sings")
    owner.save()
    services.set_lot_status(lot, Status.REJECTED, by=owner, at=make.NOON, reason="rancid")
    client = Client()
    client.force_login(owner, backend="django.contrib.auth.backends.ModelBackend")
    page = reverse("ledger:status", args=[lot.code])
    sent = {"status": "quarantine", "reason": "The sample was mixed up."}

    wrong = client.post(page, sent | {"password": "a loud kettle"})
    assertContains(wrong, "That is not your password. Nothing was done.")
    assertContains(client.post(page, sent), "This field is required")
    assert Lot.objects.get(pk=lot.pk).status == Status.REJECTED

    client.post(page, sent | {"password": "a quiet kettle sings"})
    assert Lot.objects.get(pk=lot.pk).status == Status.QUARANTINE


@pytest.mark.django_db
@pytest.mark.parametrize("role", [Role.MAKER, Role.PACKER, Role.INSPECTOR])
def test_signature_of_somebody_else_takes_no_rejection_back(role: Role) -> None:
    lot, owner, other = make.lot(), make.user(), make.user(role)
    services.set_lot_status(lot, Status.REJECTED, by=owner, at=make.NOON, reason="rancid")

    for by, signature in ((other, make.signed(other)), (owner, make.signed(other))):
        with pytest.raises(ActionRefused):
            back(lot, by, signature)

    assert back(lot, owner, make.signed(owner)).status == Status.QUARANTINE


def back(lot: Lot, by: User, signature: Confirmed) -> Lot:
    return services.set_lot_status(
        lot, Status.QUARANTINE, by=by, at=make.NOON, reason="mixed up", confirmed=signature
    )


@pytest.mark.django_db
def test_finished_lot_out_of_hold_takes_a_reason_wherever_it_is_released() -> None:
    owner = make.user()
    tins = packing.packed()
    packing_services.hold(tins, by=owner, at=make.NOON, reason="lids loose")

    with pytest.raises(ActionRefused, match="Say why") as refused:
        packing_services.release(tins, by=owner, at=make.NOON)

    assert refused.value.field == "reason"


def test_no_service_makes_a_lot_that_is_released_from_the_start() -> None:
    # Stock from before the book was released before it, and comes in as the owner says it stands.
    opening = ROOT / "goods_in" / "services" / "opening_stock.py"
    for path in {*ROOT.rglob("*.py")} - {opening}:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and "create_lot" in ast.unparse(node.func):
                assert "status" not in {keyword.arg for keyword in node.keywords}, path
