"""A real Chromium of the machine, pointed at the live server."""

import os
import shutil
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from playwright.sync_api import Page

# Playwright keeps an event loop open; Django then takes plain test code for asynchronous code.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"

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
    quiet = 0
    for _ in range(200):
        time.sleep(0.05)
        quiet = quiet + 1 if is_idle() else 0
        if quiet == 4:
            return


def is_idle() -> bool:
    if connection.vendor != "postgresql":
        return True
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT COUNT(*) FROM pg_stat_activity WHERE datname = current_database()"
            " AND pid <> pg_backend_pid() AND state <> 'idle'"
        )
        return bool(cursor.fetchone() == (0,))


@pytest.fixture
def page(page: Page) -> Page:
    """Ten seconds are long enough for a page of this machine."""
    page.set_default_timeout(10_000)
    return page
