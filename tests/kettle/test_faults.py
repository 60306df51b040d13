"""The server is killed (-9) again and again while a maker weighs; the device sends until it hears.

What a device does is done here by plain requests: each reading has a token of its own and is sent
again until the book has answered. Nothing acknowledged may be missing, and nothing doubled.
"""

import os
import random
import signal
import subprocess
import threading
import time
from collections.abc import Iterator
from http.client import HTTPException
from urllib.parse import urlencode

import pytest
from django.conf import settings
from django.test import Client
from django.utils import timezone

from tests import make
from tests.kettle import build
from tests.kettle.served import ask, served
from workshop.core.models import Role
from workshop.kettle.models import Batch, BatchLine, Weighing
from workshop.ledger.models import Lot
from workshop.ledger.proof.checks import run_checks
from workshop.ledger.services import on_hand

pytestmark = pytest.mark.django_db(transaction=True)

READINGS = 1000
KILLS = 100
CSRF = "k" * 32


@pytest.fixture
def server() -> Iterator[tuple[int, int]]:
    with served("--preload") as found:
        yield found


class Device:
    """A tablet: keeps each reading until the book has answered for it."""

    def __init__(self, port: int, batch: Batch, line: BatchLine, lot: Lot) -> None:
        client = Client()
        client.force_login(make.user(Role.MAKER))
        session = client.cookies[settings.SESSION_COOKIE_NAME].value
        self.headers = {
            "Content-Type": "application/x-www-form-urlencoded",
            "Accept": "application/json",
            "X-CSRFToken": CSRF,
            "Cookie": f"{settings.SESSION_COOKIE_NAME}={session}; csrftoken={CSRF}",
        }
        self.port, self.path = port, f"/kettle/{batch.operation.reference}/weigh/"
        self.fields = {"line": line.pk, "lot": lot.code, "scale": batch.scale_id}
        self.acknowledged: list[str] = []
        self.sent_again = 0

    def weigh(self, number: int) -> None:
        token = f"reading-{number:04}"
        taken = timezone.now().isoformat()
        body = urlencode({**self.fields, "reading_g": "0.5", "token": token, "at": taken})
        while True:
            try:
                status, words = ask(self.port, "POST", self.path, body, **self.headers)
            except (OSError, HTTPException):
                self.sent_again += 1
                time.sleep(0.01)
                continue
            assert status == 200, words
            self.acknowledged.append(token)
            return


def killer(master: int, finished: threading.Event, done: list[int]) -> None:
    """Kill whichever worker is at work, at moments nobody chose."""
    chance = random.Random(11)
    while len(done) < KILLS and not finished.wait(chance.uniform(0.02, 0.12)):
        found = subprocess.run(
            ["pgrep", "-P", str(master)], capture_output=True, text=True, check=False
        )
        for worker in found.stdout.split():
            try:
                os.kill(int(worker), signal.SIGKILL)
            except ProcessLookupError:
                continue
            done.append(int(worker))


def test_no_reading_is_lost_or_doubled_by_a_server_killed_a_hundred_times(
    server: tuple[int, int],
) -> None:
    master, port = server
    item = make.item()
    batch = build.batch(
        build.version([(item, "100")]), target_g="1000", scale=build.scale("0.5"), at=timezone.now()
    )
    lot = make.lot(item, on_hand=5000)
    device = Device(port, batch, batch.lines.get(), lot)
    finished, killed = threading.Event(), list[int]()
    reaper = threading.Thread(target=killer, args=(master, finished, killed))
    reaper.start()

    number = 0
    while number < READINGS or reaper.is_alive():
        device.weigh(number)
        number += 1
        if number >= 4 * READINGS:
            finished.set()
    finished.set()
    reaper.join()

    assert len(killed) == KILLS
    assert device.sent_again > 0
    in_the_book = [
        row.posting.token for row in Weighing.objects.select_related("posting").order_by("posting")
    ]
    assert in_the_book == device.acknowledged == [f"reading-{n:04}" for n in range(number)]
    assert on_hand(lot) == 5000 - number / 2
    assert [finding.problems for finding in run_checks() if not finding.is_sound] == []
