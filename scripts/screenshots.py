"""Photographs three pages of a small demonstration for README.md: docs/*.png.

Run by `make screenshots`. The book is made anew in a temporary folder, so no other is touched.
"""

import os
import re
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, ViewportSize, sync_playwright

PROJECT = Path(__file__).resolve().parent.parent
DOCS = PROJECT / "docs"
SIZE: ViewportSize = {"width": 1280, "height": 800}
MOST_BYTES = 120_000
MONTHS = "4"
sys.path.insert(0, str(PROJECT))

from tests.browser.conftest import QUIET, SLOW_MS, chromium  # noqa: E402  no installed package


def main() -> None:
    browser = chromium()
    if browser is None:
        sys.exit("No Chromium found: install the package chromium.")
    with (
        tempfile.TemporaryDirectory() as data,
        served(data) as (address, told),
        sync_playwright() as playwright,
    ):
        opened = playwright.chromium.launch(executable_path=browser, args=QUIET)
        page = opened.new_page(viewport=SIZE, base_url=address, color_scheme="light")
        page.set_default_timeout(SLOW_MS)
        take_all(page, told)
        opened.close()


def take_all(page: Page, told: str) -> None:
    """Every page, as its owner sees it; what the demonstration told says where to look."""
    drilled = found(r"^  drill: .* lot (\S+): ", told).replace("-", "")
    sign_in(page, "odile", found(r"^  odile +(\S+)", told))
    for name, address in {
        "today": "/",
        "weigh-up": weigh_up(page),
        "trace": f"/trace/{drilled}/",
    }.items():
        page.goto(address)
        photograph(page, DOCS / f"{name}.png")


def weigh_up(page: Page) -> str:
    """The address of a batch that is under way."""
    page.goto("/kettle/")
    return str(page.locator("a[href*='/weigh/']").first.get_attribute("href"))


def found(pattern: str, told: str) -> str:
    match = re.search(pattern, told, re.MULTILINE)
    if match is None:
        sys.exit(f"The demonstration told nothing like {pattern}.")
    return match[1]


@contextmanager
def served(data: str) -> Iterator[tuple[str, str]]:
    """A small demonstration on a free port, with what it told."""
    environment = {**os.environ, "TAREBOOK_DATA": data, "TAREBOOK_DEMO": "1"}
    environment.pop("DATABASE_URL", None)
    for words in (["migrate", "--verbosity=0"], ["demo", "--months", MONTHS]):
        told = subprocess.run(  # noqa: S603  a command of our own
            [sys.executable, "manage.py", *words],
            cwd=PROJECT, env=environment, check=True, stdout=subprocess.PIPE, text=True,
        ).stdout  # fmt: skip
    port = free_port()
    environment["PORT"] = str(port)
    serve = [sys.executable, "scripts/serve.py"]
    with subprocess.Popen(serve, cwd=PROJECT, env=environment) as server:  # noqa: S603  the same
        try:
            wait_for(f"http://127.0.0.1:{port}/health/")
            yield f"http://127.0.0.1:{port}", told
        finally:
            server.terminate()


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def wait_for(address: str) -> None:
    for _ in range(300):
        try:
            with urllib.request.urlopen(address, timeout=5):  # noqa: S310  our own server
                return
        except OSError:  # refused as yet, or slow to answer
            time.sleep(0.2)
    sys.exit("The book did not start.")


def sign_in(page: Page, name: str, password: str) -> None:
    page.goto("/sign-in/")
    page.get_by_label("Name").fill(name)
    page.get_by_label("Password").fill(password)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/")


def photograph(page: Page, path: Path) -> None:
    """In 64 colours, which these pages hardly exceed, so that the file stays small."""
    page.wait_for_load_state("networkidle")
    page.screenshot(path=path)
    with Image.open(path) as seen:
        seen.convert("RGB").quantize(64).save(path, optimize=True)
    size = path.stat().st_size
    print(f"{path.relative_to(PROJECT)}: {size:,} bytes")
    if size > MOST_BYTES:
        sys.exit(f"{path.name} is too large: more than {MOST_BYTES:,} bytes.")


if __name__ == "__main__":
    main()
