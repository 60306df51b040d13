"""An open weigh-up asks every two seconds; while nothing changed, that costs next to nothing."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from tests import make
from tests.kettle import build
from workshop.core.models import Role, User
from workshop.core.saving.new_tokens import new_token
from workshop.kettle import services
from workshop.kettle.models import Batch
from workshop.kettle.weighing.change_mark import MARK, mark_of
from workshop.ledger import services as ledger
from workshop.ledger.models import Status

pytestmark = pytest.mark.django_db
ROOMS = ("kettle_", "ledger_", "goods_in_", "formulas_")


@pytest.fixture(autouse=True)
def maker(client: Client) -> User:
    person = make.user(Role.MAKER)
    client.force_login(person)
    return person


@pytest.fixture
def batch() -> Batch:
    return build.batch(at=timezone.now() - timedelta(hours=1))


def ask(client: Client, batch: Batch, mark: str = "") -> Any:
    headers = {"accept": "application/json", "if-none-match": mark}
    address = reverse("kettle:weigh", args=[batch.operation.reference])
    return client.get(address, headers=headers)


def test_page_that_asks_again_is_answered_by_one_query_and_nothing_else(
    client: Client, batch: Batch
) -> None:
    for line in batch.lines.all():
        make.lot(line.item)
    first = ask(client, batch)

    with CaptureQueriesContext(
        connection,
    ) as queries:
        again = ask(client, batch, first["ETag"])

    assert (first.status_code, again.status_code, again.content) == (200, 304, b"")
    assert again["ETag"] == first["ETag"]
    asked = [one["sql"] for one in queries if any(room in one["sql"] for room in ROOMS)]
    assert len(asked) == 1


@pytest.mark.skipif(connection.vendor != "sqlite", reason="reads the plan as SQLite writes it")
def test_that_query_reads_no_table_from_end_to_end(batch: Batch) -> None:
    with connection.cursor() as cursor:
        cursor.execute(f"EXPLAIN QUERY PLAN {MARK}", [batch.operation.reference])
        steps = [row[3] for row in cursor.fetchall()]

    assert [step for step in steps if step.startswith("SCAN") and "CONSTANT" not in step] == []


def test_whatever_a_weigh_up_shows_makes_another_mark(client: Client, batch: Batch) -> None:
    now = timezone.now()
    line = batch.lines.select_related("item")[0]
    lot = make.lot(line.item)
    marks = [mark_of(batch.operation.reference, now=now)]

    def seen() -> None:
        marks.append(mark_of(batch.operation.reference, now=now))

    weighing = build.weigh(line, "520", lot=lot, at=now)
    seen()
    undone: dict[str, Any] = {
        "by": build.owner(),
        "at": now,
        "reason": "spilled",
        "token": new_token(),
    }
    services.undo_reading(weighing, **undone)
    seen()
    ledger.set_lot_status(lot, Status.ON_HOLD, by=build.owner(), at=now, reason="smells")
    seen()
    timer = batch.timers.create(name="Melt", minutes=5, started_at=now, started_by=make.user())
    seen()
    services.end_timer(timer, by=build.owner(), at=now, note="early", token=new_token())
    seen()

    assert len(set(marks)) == 6


def test_mark_is_good_for_a_minute_at_most(batch: Batch) -> None:
    now, reference = timezone.now(), batch.operation.reference

    assert mark_of(reference, now=now) == mark_of(reference, now=now)
    assert mark_of(reference, now=now) != mark_of(reference, now=now + timedelta(minutes=1))


def test_scanned_lot_is_answered_whatever_the_mark(client: Client, batch: Batch) -> None:
    lot = make.lot(batch.lines.all()[0].item)
    mark = ask(client, batch)["ETag"]
    address = reverse("kettle:weigh", args=[batch.operation.reference])

    headers = {"accept": "application/json", "if-none-match": mark}
    answer = client.get(address, {"lot": lot.code}, headers=headers)

    assert (answer.status_code, answer.json()["lot"]["code"]) == (200, lot.code)


def test_batch_that_is_not_there_is_not_found(client: Client) -> None:
    address = reverse("kettle:weigh", args=["K-0000-00"])

    assert client.get(address, headers={"accept": "application/json"}).status_code == 404
