"""A real Chromium of the machine, pointed at the live server."""

import os
import shutil
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from playwright.sync_api import Page, expect

# Playwright keeps an event loop open; Django then takes plain test code for asynchronous code.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
# A loaded machine of two cores is given time; what comes at once is seen at once all the same.
SLOW_MS = 20_000
expect.set_options(timeout=SLOW_MS)

MAC = "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome"
QUIET = [
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def chromium() -> str | None:
    """The browser to drive: the one named by TAREBOOK_CHROMIUM, else the first one found."""
    names = (os.environ.get("TAREBOOK_CHROMIUM", ""), "chromium", "google-chrome", MAC)
    return next((found for name in names if name and (found := shutil.which(name))), None)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Every test below this folder is a browser test."""
    for item in items:
        if item.path.is_relative_to(Path(__file__).parent):
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    path = chromium()
    if path is None:
        pytest.skip("no Chromium on this machine: install the package chromium")
    return {**browser_type_launch_args, "executable_path": path, "args": QUIET}


@pytest.fixture(scope="session")
def base_url(live_server: Any) -> str:
    """Lets a test say page.goto("/")."""
    return str(live_server.url)


@pytest.fixture(autouse=True)
def settled(transactional_db: None) -> Iterator[None]:
    """Wait for requests still under way when the pages close: emptying the tables would
    lock against them."""
    yield
    end, quiet = time.monotonic() + 10, 0
    while quiet < 2 and time.monotonic() < end:
        time.sleep(0.02)
        quiet = quiet + 1 if not is_serving() and is_idle() else 0


def is_serving() -> bool:
    """Whether a browser still has a connection to the live server."""
    return any("process_request_thread" in thread.name for thread in threading.enumerate())


def is_idle() -> bool:
    if connection.vendor != "postgresql":
        return True
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT COUNT(*) FROM pg_stat_activity WHERE datname = current_database()"
            " AND pid <> pg_backend_pid() AND state <> 'idle'"
        )
        return bool(cursor.fetchone() == (0,))


def until(page: Page, script: str) -> None:
    """Wait until the script says true. Playwright's own way of waiting would have the page
    evaluate text, which our Content-Security-Policy forbids to every page."""
    end = time.monotonic() + SLOW_MS / 1000
    while not page.evaluate(script):
        assert time.monotonic() < end, script
        page.wait_for_timeout(50)


@pytest.fixture
def page(page: Page) -> Page:
    page.set_default_timeout(SLOW_MS)
    return page
