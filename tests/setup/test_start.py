"""The container's own start command, run by hand with compose's environment on PostgreSQL."""

import os
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from django.db import connection

from tests.setup.compose import HOST, PROJECT, compose, environment

NAME = "tarebook_start"


class NoRedirect(urllib.request.HTTPRedirectHandler):
    """Shows a redirect instead of following it."""

    def redirect_request(self, *arguments: Any) -> None:
        return None


@pytest.fixture
def empty_database(transactional_db: None) -> Iterator[str]:
    """The address of a fresh database beside the one of the tests."""
    if connection.vendor != "postgresql":
        pytest.skip("the container set-up runs on PostgreSQL; see the PostgreSQL leg")
    # One name a worker: two may run this at once.
    name = f"{NAME}_{os.environ.get('PYTEST_XDIST_WORKER', 'only')}"
    with connection.cursor() as cursor:
        cursor.execute(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")
        cursor.execute(f"CREATE DATABASE {name}")
    before, _, options = os.environ["DATABASE_URL"].partition("?")
    yield f"{before.rpartition('/')[0]}/{name}?{options}"
    with connection.cursor() as cursor:
        cursor.execute(f"DROP DATABASE {name} WITH (FORCE)")


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def started(settings_of_web: dict[str, str]) -> Iterator[None]:
    """deploy/start, until the block ends."""
    with subprocess.Popen(["deploy/start"], cwd=PROJECT, env=settings_of_web) as server:
        try:
            yield
        finally:
            server.terminate()


def ask(port: int, path: str, **headers: str) -> tuple[int, dict[str, str], str]:
    """One request as the terminator would pass it on."""
    request = urllib.request.Request(
        f"http://127.0.0.1:{port}{path}", headers={"Host": HOST, **headers}
    )
    opener = urllib.request.build_opener(NoRedirect)
    try:
        with opener.open(request, timeout=20) as answer:
            return answer.status, dict(answer.headers), answer.read().decode()
    except urllib.error.HTTPError as answer:
        return answer.code, dict(answer.headers), answer.read().decode()


def wait_until_healthy(web: dict[str, str]) -> None:
    """What the container's health check does, until it is content."""
    until = time.monotonic() + 60
    check = [sys.executable, "deploy/healthy.py"]
    while subprocess.run(
        check, cwd=PROJECT, env=web, check=False, stderr=subprocess.DEVNULL
    ).returncode:
        assert time.monotonic() < until, "the book did not become healthy within a minute"
        time.sleep(0.3)


def test_container_starts_by_hand_and_answers_as_it_should(
    empty_database: str, tmp_path: Path
) -> None:
    port = free_port()
    web = environment("web", tmp_path, database_url=empty_database)
    web |= {"PORT": str(port), "BIND": "127.0.0.1", "PYTHON": sys.executable}
    web |= {"TAREBOOK_STATIC_ROOT": str(tmp_path / "staticfiles")}
    migrate = [sys.executable, *compose()["services"]["migrate"]["command"][1:]]
    collect = [sys.executable, "manage.py", "collectstatic", "--noinput", "--verbosity=0"]
    subprocess.run(collect, cwd=PROJECT, env=web, check=True)
    subprocess.run(migrate, cwd=PROJECT, env=web, check=True, stdout=subprocess.DEVNULL)

    with started(web):
        wait_until_healthy(web)
        health = ask(port, "/health/")
        plain = ask(port, "/sign-in/")
        secure = ask(port, "/sign-in/", **{"X-Forwarded-Proto": "https"})
        stranger = ask(port, "/health/", Host="elsewhere.example")
        closed = ask(port, "/stock/", **{"X-Forwarded-Proto": "https"})

    assert (health[0], health[2].strip()) == (200, "ok")
    assert (plain[0], plain[1]["Location"]) == (301, f"https://{HOST}/sign-in/")
    assert stranger[0] == 400
    assert (closed[0], closed[1]["Location"]) == (302, "/sign-in/?next=/stock/")
    assert secure[0] == 200
    assert secure[1]["Strict-Transport-Security"] == "max-age=31536000; includeSubDomains"
    assert secure[1]["X-Frame-Options"] == "DENY"
    assert secure[1]["X-Content-Type-Options"] == "nosniff"
    assert secure[1]["Referrer-Policy"] == "same-origin"
    assert "Secure" in secure[1]["Set-Cookie"]
    policy = secure[1]["Content-Security-Policy"]
    assert "default-src 'self'" in policy
    assert "unsafe" not in policy


def test_compose_configuration_passes_the_deployment_check(tmp_path: Path) -> None:
    web = environment("web", tmp_path, database_url=f"sqlite:///{tmp_path}/check.sqlite3")
    command = [sys.executable, "manage.py", "check", "--deploy", "--fail-level", "WARNING"]

    checked = subprocess.run(
        command, cwd=PROJECT, env=web, check=False, capture_output=True, text=True
    )

    assert (checked.returncode, checked.stderr) == (0, "")
    assert checked.stdout == "System check identified no issues (1 silenced).\n"
