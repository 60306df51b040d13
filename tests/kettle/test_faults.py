"""The server is killed (-9) again and again while a maker weighs; the device sends until it hears.

What a device does is done here by plain requests: each reading has a token of its own and is sent
again until the book has answered. Nothing acknowledged may be missing, and nothing doubled.
"""

import os
import random
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from urllib.parse import urlencode

import pytest
from django.conf import settings
from django.db import connection
from django.test import Client
from django.utils import timezone

from tests import make
from tests.kettle import build
from workshop.core.models import Role
from workshop.kettle.models import Batch, BatchLine, Weighing
from workshop.ledger.checks import run_checks
from workshop.ledger.models import Lot
from workshop.ledger.services import on_hand

pytestmark = pytest.mark.django_db(transaction=True)

READINGS = 1000
KILLS = 100
CSRF = "k" * 32


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def database_address() -> str:
    """The test database as another process may name it."""
    parts = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{parts['NAME']}"
    query = {key: str(parts[key.upper()] or "") for key in ("host", "port")}
    query |= {key: str(value) for key, value in parts["OPTIONS"].items() if key == "host"}
    user = f"{parts['USER']}:{parts['PASSWORD']}" if parts["PASSWORD"] else parts["USER"]
    given = urlencode({key: value for key, value in query.items() if value})
    return f"postgresql://{user}@/{parts['NAME']}?{given}"


@pytest.fixture
def server() -> Iterator[tuple[int, int]]:
    """The product's own server on the test database: its process and its port."""
    port = free_port()
    command = [sys.executable, "-m", "gunicorn", "workshop.wsgi", "--preload", "--workers", "1"]
    process = subprocess.Popen(
        [*command, "--bind", f"127.0.0.1:{port}", "--log-level", "critical"],
        cwd=Path(settings.BASE_DIR),
        env={**os.environ, "DATABASE_URL": database_address()},
        start_new_session=True,
    )
    wait_for(port)
    yield process.pid, port
    os.killpg(process.pid, signal.SIGKILL)
    process.wait()


def wait_for(port: int) -> None:
    until = time.monotonic() + 60
    while time.monotonic() < until:
        try:
            if ask(port, "GET", "/health/")[0] == 200:
                return
        except (OSError, HTTPException):
            time.sleep(0.1)
    raise AssertionError("the server did not start")


def ask(port: int, method: str, path: str, body: str = "", **headers: str) -> tuple[int, str]:
    line = HTTPConnection("127.0.0.1", port, timeout=10)
    try:
        line.request(method, path, body or None, headers)
        answer = line.getresponse()
        return answer.status, answer.read().decode()
    finally:
        line.close()


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
