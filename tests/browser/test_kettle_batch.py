"""A maker's whole batch by touch: everything that goes wrong at a stove in one afternoon."""

from collections.abc import Callable, Iterator
from datetime import timedelta
from decimal import Decimal
from io import BytesIO

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, BrowserContext, Page, expect
from pypdf import PdfReader

from tests import make
from tests.browser import stove
from tests.browser.stove import NARROW, SLOW_MS, at_the_stove, in_the_book, key_in, record, weigh
from tests.kettle import build
from workshop.core.models import Role, User
from workshop.kettle.models import Batch, Weighing
from workshop.ledger.models import Lot
from workshop.ledger.proof.checks import run_checks

pytestmark = pytest.mark.django_db(transaction=True)
# Common practice, no source: a salve of six lines, in percent.
SALVE = (
    ("Olive oil", "40"),
    ("Coconut oil", "25"),
    ("Shea butter", "15"),
    ("Beeswax", "12"),
    ("Castor oil", "6"),
    ("Vitamin E oil", "2"),
)
DRUMS = {"Olive oil": (250, 900)}  # the first one runs empty in the middle of its line
Tablet = Callable[[], BrowserContext]


@pytest.fixture
def tamsin() -> User:
    return make.user(Role.MAKER, username="tamsin")


@pytest.fixture
def batch(tamsin: User) -> Batch:
    shares = [(make.item(name=name), share) for name, share in SALVE]
    for item, _ in shares:
        for days, on_hand in enumerate(DRUMS.get(item.name, (900,)), start=200):
            best_before = timezone.localdate() + timedelta(days=days)
            make.lot(item, on_hand=on_hand, best_before=best_before)
    began = timezone.now() - timedelta(hours=1)
    return build.batch(build.version(shares), target_g="1000", at=began, by=tamsin)


@pytest.fixture(params=[(1024, 768), (768, 1024)], ids=["landscape", "portrait"])
def tablet(
    request: pytest.FixtureRequest, browser: Browser, base_url: str, tamsin: User
) -> Iterator[Tablet]:
    width, height = request.param
    contexts: list[BrowserContext] = []

    def another() -> BrowserContext:
        contexts.append(
            browser.new_context(
                viewport={"width": width, "height": height}, has_touch=True, base_url=base_url
            )
        )
        return stove.signed_in(contexts[-1], base_url, tamsin)

    yield another
    for context in contexts:
        context.close()


def weigh_what_is_asked(page: Page, name: str) -> Decimal:
    """Weigh what the screen says is to go, to the gram."""
    expect(page.locator('[data-part="name"]')).to_have_text(name, timeout=SLOW_MS)
    asked = page.locator('[data-part="to-go"]').inner_text()
    grams = asked.removesuffix(f"{NARROW}g").replace(NARROW, "")
    key_in(page, grams)
    record(page)
    return Decimal(grams)


def rebalance(page: Page) -> None:
    page.get_by_role("link", name="How to correct it").tap()
    page.get_by_label("Rebalance within tolerance").check()
    page.get_by_label("Why").fill("the jug slipped")
    page.get_by_role("button", name="Do it").tap()
    expect(page.get_by_role("group", name="Keypad")).to_be_visible(timeout=SLOW_MS)


def pour(page: Page, grams: str) -> None:
    page.get_by_role("link", name="Pour").tap()
    page.locator("[name='part-0-measured_g']").fill(grams)
    page.get_by_role("button", name="Record the pour").tap()
    expect(page.get_by_role("heading", level=1)).to_contain_text("K-", timeout=SLOW_MS)


def test_six_lines_with_everything_that_goes_wrong_at_a_stove(tablet: Tablet, batch: Batch) -> None:
    first = tablet()
    page = at_the_stove(first, batch)
    small, large = Lot.objects.filter(item__name="Olive oil").order_by("best_before")

    weigh(page, "Olive oil", "250")
    expect(page.locator('[data-part="lot"]')).to_contain_text(str(large), timeout=SLOW_MS)
    assert weigh_what_is_asked(page, "Olive oil") == 150

    weigh(page, "Coconut oil", "270")
    expect(page.get_by_role("heading", level=1)).to_contain_text(
        "too much Coconut oil", timeout=SLOW_MS
    )
    rebalance(page)
    more = weigh_what_is_asked(page, "Olive oil")
    stove.expect_nothing_waits(page)

    first.set_offline(True)
    shea = weigh_what_is_asked(page, "Shea butter")
    wax = weigh_what_is_asked(page, "Beeswax")
    expect(page.locator('[data-part="queue"]')).to_contain_text("2 readings kept here")
    assert in_the_book() == [Decimal(250), Decimal(150), Decimal(270), more]
    first.set_offline(False)
    stove.expect_nothing_waits(page)
    page.close()

    page = at_the_stove(tablet(), batch)
    castor = weigh_what_is_asked(page, "Castor oil")
    vitamin = weigh_what_is_asked(page, "Vitamin E oil")
    expect(page.get_by_role("heading", name="All ingredients are in.")).to_be_visible(
        timeout=SLOW_MS
    )
    stove.expect_nothing_waits(page)

    oil = [Decimal(250), Decimal(150)]
    assert in_the_book() == [*oil, Decimal(270), more, shea, wax, castor, vitamin]
    kettle_g = sum(in_the_book())
    for line in batch.lines.with_taken():
        share = line.taken_g / kettle_g * 100
        meant = Decimal(dict(SALVE)[line.item.name])
        assert abs(share - meant) <= meant * line.tolerance / 100
    lots = [row.posting.lot for row in Weighing.objects.effective().order_by("pk")]
    assert lots[:2] == [small, large]

    pour(page, "1040")
    paper = page.context.request.get(f"/kettle/{batch.operation.reference}/paper/")
    words = " ".join(
        "".join(p.extract_text() for p in PdfReader(BytesIO(paper.body())).pages).split()
    )
    for needed in (str(batch), *dict(SALVE), str(small), str(large), "the jug slipped"):
        assert needed in words
    assert [finding for finding in run_checks() if not finding.is_sound] == []
