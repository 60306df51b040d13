"""Many writers at once: nothing is lost, nothing is doubled."""

import os
import subprocess
import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.db import connection, connections

from tests import make
from workshop.core.errors import ActionRefused
from workshop.ledger import services
from workshop.ledger.models import ItemKind, Lot, Operation, OperationKind, Posting, Seal, Side
from workshop.ledger.proof.checks import run_checks

pytestmark = pytest.mark.django_db(transaction=True)

WRITERS = 8
READINGS = 25


def at_once(act: Callable[[int], Any]) -> list[Any]:
    """Run `act` in eight threads, each with a database connection of its own."""

    def run(number: int) -> Any:
        try:
            return act(number)
        finally:
            connections.close_all()

    with ThreadPoolExecutor(WRITERS) as pool:
        return list(pool.map(run, range(WRITERS)))


def test_readings_of_eight_makers_are_all_there_once() -> None:
    oil, batch, owner = make.lot(on_hand=1000), make.operation(OperationKind.BATCH), make.user()

    def weigh(number: int) -> None:
        for reading in range(READINGS):
            for _ in range(2):  # each is sent twice, as after a lost answer
                services.post(
                    batch,
                    oil,
                    Side.IN,
                    Decimal(1),
                    by=owner,
                    at=make.NOON,
                    token=f"{number}-{reading}",
                )

    at_once(weigh)

    assert batch.postings.count() == WRITERS * READINGS
    assert services.on_hand(oil) == 1000 - WRITERS * READINGS


def test_one_token_in_eight_hands_is_one_posting() -> None:
    oil, batch, owner = make.lot(on_hand=100), make.operation(OperationKind.BATCH), make.user()

    def weigh(_: int) -> int:
        return services.post(
            batch, oil, Side.IN, Decimal(1), by=owner, at=make.NOON, token="one"
        ).pk

    assert len(set(at_once(weigh))) == 1
    assert services.on_hand(oil) == 99


def test_last_tins_are_sent_once() -> None:
    tins, owner = make.lot(make.item(ItemKind.PRODUCT), on_hand=5), make.user()
    dispatches = [make.operation(OperationKind.DISPATCH, by=owner) for _ in range(WRITERS)]

    def send(number: int) -> bool:
        try:
            services.withdraw(dispatches[number], tins, Decimal(2), by=owner, at=make.NOON)
        except ActionRefused:
            return False
        return True

    assert sum(at_once(send)) == 2
    assert services.on_hand(tins) == 1


def test_references_and_lot_codes_are_given_once() -> None:
    oil, owner = make.item(), make.user()

    def receive(_: int) -> list[str]:
        return [make.lot(oil, by=owner).origin.reference for _ in range(4)]

    references = sorted(reference for done in at_once(receive) for reference in done)

    assert references == [f"R-{make.MONTH}-{number:02}" for number in range(1, 4 * WRITERS + 1)]
    assert Lot.objects.count() == len(references)


def test_seals_of_eight_closings_make_one_chain() -> None:
    owner = make.user()
    batches = [make.operation(OperationKind.BATCH, by=owner) for _ in range(WRITERS)]

    at_once(lambda number: services.close_operation(batches[number], by=owner, at=make.NOON))

    assert Seal.objects.count() == WRITERS
    assert [finding for finding in run_checks() if not finding.is_sound] == []


def test_posting_and_closing_at_once_never_leaves_a_posting_unsealed() -> None:
    oil, owner = make.lot(on_hand=1000), make.user()
    batch = make.operation(OperationKind.BATCH, by=owner)

    def act(number: int) -> None:
        if number == WRITERS // 2:
            services.close_operation(batch, by=owner, at=make.NOON)
            return
        for _ in range(10):
            try:
                services.post(batch, oil, Side.IN, Decimal(1), by=owner, at=make.NOON)
            except ActionRefused:
                return

    at_once(act)

    assert Operation.objects.get(pk=batch.pk).is_closed
    assert [finding for finding in run_checks() if not finding.is_sound] == []


WEIGH = """
import sys
from decimal import Decimal
import django
from django.conf import settings
django.setup()
settings.DATABASES["default"]["NAME"] = sys.argv[1]
from tests import make
from workshop.core.models import User
from workshop.ledger import services
from workshop.ledger.models import Lot, Operation, Side
lot, batch, owner = Lot.objects.get(), Operation.objects.get(kind="batch"), User.objects.get()
for reading in range(25):
    for _ in range(2):
        services.post(batch, lot, Side.IN, Decimal(1), by=owner, at=make.NOON,
                      token=f"{sys.argv[2]}-{reading}")
"""


def test_readings_of_eight_processes_are_all_there_once() -> None:
    owner = make.user()
    oil, batch = make.lot(on_hand=1000, by=owner), make.operation(OperationKind.BATCH, by=owner)
    name = str(connection.settings_dict["NAME"])
    environment = {**os.environ, "DJANGO_SETTINGS_MODULE": "workshop.settings"}
    root = Path(settings.BASE_DIR)

    running = [
        subprocess.Popen(
            [sys.executable, "-c", WEIGH, name, str(number)],
            cwd=root,
            env=environment,
            stderr=subprocess.PIPE,
            text=True,
        )
        for number in range(WRITERS)
    ]
    complaints = [process.communicate()[1] for process in running]

    assert [process.returncode for process in running] == [0] * WRITERS, complaints
    assert Posting.objects.filter(operation=batch).count() == WRITERS * READINGS
    assert services.on_hand(oil) == 1000 - WRITERS * READINGS
