"""What the weigh-up weighs on the wire, as the product's own server sends it."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from django.conf import settings
from playwright.sync_api import Browser, BrowserContext, expect

from tests.browser import stove
from tests.browser.soap import SOAP, soap
from tests.browser.stove import SLOW_MS, expect_in_the_book
from tests.browser.wire import weighed, without_typefaces
from tests.kettle.served import served

pytestmark = pytest.mark.django_db(transaction=True)
FIRST_LOAD_BYTES = 60_000
TYPEFACE_BYTES = 60_000  # kept by the browser for a year
SCRIPT_BYTES = 35_000  # unpacked, with every comment
JS = Path(settings.BASE_DIR) / "static/js"


@pytest.fixture
def tablet(browser: Browser) -> Iterator[BrowserContext]:
    with served() as (_, port):
        address = f"http://127.0.0.1:{port}"
        context = browser.new_context(
            viewport={"width": 1024, "height": 768}, has_touch=True, base_url=address
        )
        yield stove.signed_in(context, address)
        context.close()


def test_first_load_is_light_and_the_next_line_needs_no_request(tablet: BrowserContext) -> None:
    """Eleven lines with long cautions; nothing is in the browser's cache."""
    batch = soap()
    page = tablet.new_page()

    sizes = weighed(page, stove.address(batch))
    expect(page.get_by_role("group", name="Keypad")).to_be_visible(timeout=SLOW_MS)

    assert not [url for url in sizes if "htmx" in url]
    assert len(sizes) > 8
    light = without_typefaces(sizes)
    typefaces = sum(sizes.values()) - light
    assert 0 < typefaces <= TYPEFACE_BYTES
    assert light <= FIRST_LOAD_BYTES, sizes
    scripts = [path for url in sizes for path in JS.glob("*.js") if url.endswith(path.name)]
    assert sum(path.stat().st_size for path in scripts) <= SCRIPT_BYTES

    tablet.set_offline(True)
    stove.weigh(page, SOAP[0][0], "2952")
    expect(page.locator('[data-part="name"]')).to_have_text(SOAP[1][0])
    tablet.set_offline(False)
    expect_in_the_book(page, "2952")
