"""The product's own server on the test database, in a process of its own."""

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from urllib.parse import urlencode

from django.conf import settings
from django.db import connection


@contextmanager
def served(*more: str) -> Iterator[tuple[int, int]]:
    """Its process and its port, until the block ends."""
    port = free_port()
    command = [sys.executable, "-m", "gunicorn", "workshop.wsgi", "--workers", "1", *more]
    process = subprocess.Popen(
        [*command, "--bind", f"127.0.0.1:{port}", "--log-level", "critical"],
        cwd=Path(settings.BASE_DIR),
        env={
            **os.environ,
            "DATABASE_URL": database_address(),
            "SECRET_KEY": settings.SECRET_KEY,
        },
        start_new_session=True,
    )
    try:
        wait_for(port)
        yield process.pid, port
    finally:
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()


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
