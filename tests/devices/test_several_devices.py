"""Two tablets and a laptop on one book, over TLS, as docker-compose.yml sets it up.

deploy/start with two web processes, PostgreSQL, and the terminator by deploy/Caddyfile with an
authority of its own, which the browser is told to trust. Each device has an address of its own.
The terminator is the one of the system's packages, which may be older than the one compose names.
"""

import subprocess
from collections.abc import Iterator
from contextlib import ExitStack, closing
from datetime import timedelta
from decimal import Decimal
from http.client import HTTPConnection
from io import BytesIO
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from axes.models import AccessAttempt
from django.contrib.auth.hashers import PBKDF2PasswordHasher
from django.db import connection, transaction
from django.utils import timezone
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, expect

from tests import make
from tests.browser import stove
from tests.browser.conftest import QUIET, SLOW_MS, chromium, until
from tests.browser.stove import at_the_stove, weigh
from tests.devices import house as houses
from tests.devices.house import House
from tests.devices.tools import obstacle, tool
from tests.devices.wires import Wire
from tests.goods_in import build as goods
from tests.kettle import build
from tests.setup.compose import HOST
from tests.setup.later import later_version
from workshop.core.files.uploads import LARGEST_BYTES
from workshop.core.models import Role, Upload
from workshop.goods_in.models import Certificate
from workshop.kettle.models import Batch, Weighing

pytestmark = pytest.mark.browser
WORD = "seven quiet kettles"
ADDRESSES = {"stove": "127.0.0.11", "window": "127.0.0.12", "laptop": "127.0.0.13"}
TABLET = {"viewport": {"width": 1024, "height": 768}, "has_touch": True}
LAPTOP = {"viewport": {"width": 1280, "height": 800}}


class Device:
    """A browser with an address of its own, in which somebody is signed in."""

    def __init__(self, browser: Browser, wire: Wire, url: str, **shape: Any) -> None:
        self.wire = wire
        self.context: BrowserContext = browser.new_context(
            base_url=url, proxy={"server": wire.proxy}, **shape
        )
        self.context.set_default_timeout(3 * SLOW_MS)  # the first page of a book just started

    def sign_in(self, name: str, word: str = WORD) -> Page:
        page = self.context.new_page()
        page.goto("/sign-in/")
        page.get_by_label("Name").fill(name)
        page.get_by_label("Password").fill(word)
        page.get_by_role("button", name="Sign in").click()
        return page


@pytest.fixture(scope="module")
def house(django_db_setup: None, django_db_blocker: Any, tmp_path_factory: Any) -> Iterator[House]:
    if why := obstacle():
        pytest.skip(why)
    if connection.vendor != "postgresql":
        pytest.skip("the container set-up runs on PostgreSQL; see its leg")
    made = House(tmp_path_factory.mktemp("house"))
    with django_db_blocker.unblock(), ExitStack() as kept:
        kept.callback(made.stop)
        made.start()
        kept.enter_context(made.terminator())
        for role, name in ((Role.OWNER, "odile"), (Role.MAKER, "tamsin"), (Role.MAKER, "wendel")):
            person = make.user(role, username=name, first_name=name.title())
            hasher = PBKDF2PasswordHasher()  # the tests' own is one that no server knows
            person.password = hasher.encode(WORD, hasher.salt())
            person.save()
        yield made


@pytest.fixture(scope="module")
def browser_of_the_house(
    house: House, playwright: Playwright, tmp_path_factory: Any
) -> Iterator[Browser]:
    """A browser that was told once to trust the authority of the house."""
    home = tmp_path_factory.mktemp("home")
    store = home / ".pki" / "nssdb"
    store.mkdir(parents=True)
    words = ["-d", f"sql:{store}", "-A", "-t", "C,,", "-n", "house", "-i", str(house.root)]
    subprocess.run([str(tool("certutil")), "--empty-password", *words[:2], "-N"], check=True)
    subprocess.run([str(tool("certutil")), *words], check=True)
    path = chromium()
    assert path
    made = playwright.chromium.launch(executable_path=path, args=QUIET, env={"HOME": str(home)})
    yield made
    made.close()


@pytest.fixture(scope="module")
def devices(house: House, browser_of_the_house: Browser) -> Iterator[dict[str, Device]]:
    """All three, somebody signed in at each."""
    found = {}
    for (name, address), person in zip(
        ADDRESSES.items(), ("tamsin", "wendel", "odile"), strict=True
    ):
        shape = LAPTOP if name == "laptop" else TABLET
        wire = Wire(address, house.https)
        found[name] = Device(browser_of_the_house, wire, house.url, **shape)
        expect(found[name].sign_in(person).get_by_role("heading", level=1)).to_be_visible()
    yield found
    for device in found.values():
        device.context.close()
        device.wire.close()


@pytest.fixture
def batch(house: House) -> Batch:
    version = build.soft_balm()
    for line in version.lines.all():
        make.lot(line.item, on_hand=100)
    return build.batch(version, target_g="92.2", at=timezone.now() - timedelta(hours=1))


def grams(batch: Batch) -> list[Decimal]:
    rows = Weighing.objects.effective().filter(line__batch=batch)
    return [row.posting.moved for row in rows.order_by("pk")]


def expect_weighed(page: Page, batch: Batch, *wanted: str) -> None:
    """They arrive, and stay what they are: nothing is sent twice."""
    sought = sorted(map(Decimal, wanted))
    for _ in range(2 * SLOW_MS // 100):
        if sorted(grams(batch)) == sought:
            break
        page.wait_for_timeout(100)
    stove.expect_nothing_waits(page)
    assert sorted(grams(batch)) == sought


def asked(line: Any, path: str) -> tuple[int, dict[str, str]]:
    """What a program is answered that asks over this connection: status and headers."""
    client = HTTPConnection(HOST)
    with closing(client):
        client.sock = line
        client.request("GET", path)
        answer = client.getresponse()
        return answer.status, dict(answer.headers)


def test_cookies_leave_a_device_over_tls_alone(house: House, devices: dict[str, Device]) -> None:
    for device in devices.values():
        cookies = {one["name"]: one for one in device.context.cookies()}
        assert set(cookies) == {"sessionid", "csrftoken"}
        assert [name for name, one in cookies.items() if not one["secure"]] == []
        assert cookies["sessionid"]["httpOnly"]
        assert {one["sameSite"] for one in cookies.values()} == {"Lax"}


def test_who_asks_without_tls_is_sent_to_it_and_given_no_cookie(
    house: House, devices: dict[str, Device]
) -> None:
    wire = devices["laptop"].wire
    status, plain = asked(wire.connected(house.http), "/sign-in/")
    _, secure = asked(house.shaken(wire.connected()), "/sign-in/")

    assert status in (301, 308)
    assert plain["Location"].startswith(f"https://{HOST}")
    assert "Set-Cookie" not in plain
    assert secure["Strict-Transport-Security"] == "max-age=31536000; includeSubDomains"


def test_wrong_passwords_shut_out_one_device_and_no_other(
    house: House, browser_of_the_house: Browser, devices: dict[str, Device]
) -> None:
    wire = devices["window"].wire
    stranger = Device(browser_of_the_house, wire, house.url, extra_http_headers={
        "X-Real-IP": "203.0.113.9", "X-Forwarded-For": "203.0.113.9",
    })  # fmt: skip
    for number in range(5):
        page = stranger.sign_in("odile", f"wrong {number}")
    expect(page.get_by_role("heading", level=1)).to_have_text("Wait a little")

    assert set(AccessAttempt.objects.values_list("ip_address", flat=True)) == {ADDRESSES["window"]}
    page = stranger.sign_in("odile")
    expect(page.get_by_role("heading", level=1)).to_have_text("Wait a little")
    stranger.context.close()
    page = Device(browser_of_the_house, devices["laptop"].wire, house.url).sign_in("odile")
    expect(page.get_by_role("heading", level=1)).not_to_have_text("Wait a little")
    expect(page.get_by_role("button", name="Sign in")).to_have_count(0)
    page.context.close()


def pdf_of(size: int) -> bytes:
    """A PDF of one page and so many bytes."""

    def made(filling: int) -> bytes:
        document, out = pikepdf.new(), BytesIO()
        page = document.add_blank_page()
        page.obj.Filling = document.make_stream(b"x" * filling)
        document.save(out, compress_streams=False)
        return out.getvalue()

    filling = size - 2000
    return made(filling + size - len(made(filling)))


def hand_in(page: Page, certificate: Certificate, path: Path, content: bytes) -> None:
    path.write_bytes(content)
    page.goto(f"/goods-in/certificates/{certificate.pk}/change/")
    page.get_by_label("The certificate itself").set_input_files(path)
    page.get_by_role("button", name="Save the certificate").click()


def test_file_at_the_limit_is_kept_and_one_byte_more_gets_a_sentence(
    devices: dict[str, Device], tmp_path: Path
) -> None:
    certificate = goods.certificate(goods.supplier(), [goods.material("Sunflower oil")])
    path = tmp_path / "certificate.pdf"
    page = devices["laptop"].context.new_page()
    largest = pdf_of(LARGEST_BYTES)
    assert len(largest) == LARGEST_BYTES

    hand_in(page, certificate, path, largest + b"\n")
    expect(page.locator("main")).to_contain_text("The file is larger than 10 MB.")
    hand_in(page, certificate, path, largest)
    expect(page.get_by_role("button", name="Save the certificate")).to_have_count(0)

    assert Upload.objects.get().size == LARGEST_BYTES
    page.close()


def test_more_than_the_terminator_lets_through_gets_a_sentence(
    devices: dict[str, Device], tmp_path: Path
) -> None:
    certificate = goods.certificate(goods.supplier(), [goods.material("Beeswax")])
    page = devices["laptop"].context.new_page()
    hand_in(page, certificate, tmp_path / "certificate.pdf", bytes(25_000_000))

    expect(page.get_by_role("heading")).to_contain_text("larger than 25 MB")
    page.close()


def test_what_one_tablet_weighs_shows_on_the_other(
    devices: dict[str, Device], batch: Batch
) -> None:
    here = at_the_stove(devices["stove"].context, batch)
    there = at_the_stove(devices["window"].context, batch)
    weigh(here, "Solid oil", "74.6")

    expect(there.locator("[data-line]").first).to_contain_text("✓ 74.6")
    expect_weighed(here, batch, "74.6")
    here.close()
    there.close()


def test_tablet_without_its_radio_reopens_weighs_and_sends_what_it_kept(
    devices: dict[str, Device], batch: Batch
) -> None:
    """A service worker is only let in by a certificate that the browser trusts."""
    device = devices["stove"]
    page = at_the_stove(device.context, batch)
    stove.expect_kept(page)
    device.wire.pull()
    page.reload()
    weigh(page, "Solid oil", "74.6")
    expect(page.locator('[data-part="queue"]')).to_contain_text("kept here")
    assert grams(batch) == []

    device.wire.plug_in()
    expect_weighed(page, batch, "74.6")
    page.close()


def waits_for_a_lock() -> bool:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT 1 FROM pg_stat_activity WHERE datname = current_database()"
            " AND wait_event_type = 'Lock'"
        )
        return cursor.fetchone() is not None


def test_web_process_killed_in_mid_weighing_loses_and_doubles_nothing(
    house: House, devices: dict[str, Device], batch: Batch
) -> None:
    page = at_the_stove(devices["stove"].context, batch)
    before = house.workers()
    assert len(before) == houses.WORKERS
    with transaction.atomic():  # the reading waits in the middle of its transaction
        Batch.objects.select_for_update().get(pk=batch.pk)
        weigh(page, "Solid oil", "74.6")
        houses.waited_for(waits_for_a_lock, "the reading did not reach the book")
        killed = house.kill_the_busy_worker()

    expect_weighed(page, batch, "74.6")
    houses.waited_for(lambda: len(house.workers()) == houses.WORKERS, "no worker took its place")
    assert killed in before
    assert killed not in house.workers()
    page.close()


def test_upgrade_with_a_migration_while_tablets_wait(
    house: House, devices: dict[str, Device], batch: Batch, tmp_path: Path
) -> None:
    tablets = [devices["stove"], devices["window"]]
    pages = [at_the_stove(tablet.context, batch) for tablet in tablets]
    for page in pages:
        stove.expect_kept(page)
    house.stop()
    weigh(pages[0], "Solid oil", "74.6")
    pages[1].locator("[data-line]").nth(1).tap()
    weigh(pages[1], "Wax", "10.4")
    for page in pages:
        expect(page.locator('[data-part="queue"]')).to_contain_text("kept here")
    laptop = devices["laptop"].context.new_page()
    laptop.goto("/stock/")
    expect(laptop.get_by_role("heading")).to_have_text("The book does not answer just now")

    house.start(**later_version(tmp_path))

    expect_weighed(pages[0], batch, "74.6", "10.4")
    expect_weighed(pages[1], batch, "74.6", "10.4")
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1 FROM information_schema.columns WHERE column_name = 'probe'")
        assert cursor.fetchone()
    for tablet, page in zip(tablets, pages, strict=True):
        page.reload()
        until(page, f"() => {VERSION} === 'later'")
        stove.expect_kept(page)
        tablet.wire.pull()
        page.reload()
        until(page, f"() => {VERSION} === 'later'")
        expect(page.locator('[data-part="name"]')).to_have_text("Liquid oil")
        tablet.wire.plug_in()
    said = house.managed("check_ledger")
    assert "No finding: the book is sound." in said, said


VERSION = "getComputedStyle(document.documentElement).getPropertyValue('--version').trim()"
