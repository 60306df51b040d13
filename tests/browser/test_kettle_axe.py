"""No page at the kettle breaks a rule of accessibility that a machine can see (axe-core)."""

from collections.abc import Iterator
from datetime import timedelta
from typing import Any, Literal

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.utils import timezone
from playwright.sync_api import Browser, Page

from tests import make
from tests.browser import stove
from tests.browser.conftest import until
from tests.browser.soap import soap
from tests.kettle import build
from workshop.kettle.models import Batch
from workshop.ledger.models import Lot

pytestmark = pytest.mark.django_db(transaction=True)
SIZES = [(1024, 768), (768, 1024), (390, 844)]
# Besides the usual rules of WCAG 2.2 A and AA: text of the stove meets AAA in contrast.
STRICT: dict[str, Any] = {"rules": {"color-contrast-enhanced": {"enabled": True}}}
PLACES = ["", "plan/", "weigh/", "add/", "mend/", "spoon/", "photo/", "timer/", "check/", "pour/"]


@pytest.fixture
def batch() -> Batch:
    """A soap under way, one line in, the next one poured over."""
    made = soap()
    first, second = made.lines.all()[:2]
    for line, grams in ((first, "2952"), (second, "1600")):
        build.weigh(line, grams, lot=Lot.objects.get(item=line.item), at=timezone.now())
    step = made.version.steps.first()
    began = timezone.now() - timedelta(minutes=3)
    made.timers.create(name="Melt", minutes=1, step=step, started_at=began, started_by=make.user())
    return made


@pytest.fixture(params=SIZES, ids=["landscape", "portrait", "phone"])
def page(request: pytest.FixtureRequest, browser: Browser, base_url: str) -> Iterator[Page]:
    width, height = request.param
    context = browser.new_context(
        viewport={"width": width, "height": height}, has_touch=True, base_url=base_url
    )
    yield stove.signed_in(context, base_url).new_page()
    context.close()


def broken_rules(page: Page, address: str, options: dict[str, Any] | None = None) -> list[str]:
    page.goto(address)
    until(page, "!document.querySelector('.htmx-request')")  # a part that comes later
    found = Axe().run(page, options={"resultTypes": ["violations"], **(options or {})})
    return [
        f"{address} {rule['id']}: {one['html'][:150]}"
        for rule in found.response["violations"]
        for one in rule["nodes"]
    ]


def test_pages_of_a_batch_break_no_rule(page: Page, batch: Batch) -> None:
    here = f"/kettle/{batch.operation.reference}/"
    stand_in = f"{here}stand-in/{batch.lines.all()[2].pk}/"

    broken = [rule for place in PLACES for rule in broken_rules(page, here + place)]

    assert broken + broken_rules(page, stand_in) == []


def test_pages_of_the_room_break_no_rule(page: Page, batch: Batch) -> None:
    places = ["", "?q=soap", "plan/", "equipment/", "equipment/scale/", "limits/"]

    assert [rule for place in places for rule in broken_rules(page, f"/kettle/{place}")] == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_word_of_the_weigh_up_is_easy_to_tell_from_its_ground(
    page: Page, batch: Batch, scheme: Literal["light", "dark"]
) -> None:
    page.emulate_media(color_scheme=scheme)
    here = f"{stove.address(batch)}?line={batch.lines.all()[6].pk}"

    assert broken_rules(page, here, STRICT) == []
