"""In a browser: an infusion from its marc to the tin, a soap from its design to the cured bar."""

import re
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
import time_machine
from playwright.sync_api import Page, expect

from tests import make
from tests.browser.test_main_job import PASSWORD, Person
from tests.formulas import build as formulas
from tests.goods_in import build as goods
from tests.kettle import build as kettle
from tests.kettle import soaps
from tests.packing import build as packing
from workshop.core.models import Role, User, Workshop
from workshop.formulas.models import Version
from workshop.goods_in.lot_composition import composition_of
from workshop.kettle.models import Batch
from workshop.labels.models import LabelDesign
from workshop.ledger.models import Lot, OperationKind, Shed
from workshop.ledger.proof.checks import run_checks
from workshop.ledger.stock_queries import balance
from workshop.packing.models import Product

pytestmark = pytest.mark.django_db(transaction=True)
BARS = "111.2 111.0 111.1 111.3 111.0 111.2 110.9 111.1 111.0 111.2 111.1 111.0"
EXTRACT = "Calendula Officinalis Flower Extract"
DAYS = 60  # that the story takes, up to today


@pytest.fixture
def on() -> Iterator[Callable[[int], None]]:
    """Moves the workshop's day: so many days after the beginning.

    On the last of them its clock is the device's, however long the tests before have taken.
    """
    travelling: list[Any] = []

    def go(days: int) -> None:
        while travelling:
            travelling.pop().stop()
        at = datetime.now(UTC) - timedelta(days=DAYS - days)
        travelling.append(time_machine.travel(at, tick=True))
        travelling[-1].start()

    go(0)
    yield go
    while travelling:
        travelling.pop().stop()


@pytest.fixture
def odile(on: Callable[[int], None], page: Page) -> Person:
    """The owner, signed in, with the session of a browser that knows no other day."""
    User.objects.create_user("odile", password=PASSWORD, role=Role.OWNER, first_name="Odile")
    Workshop.objects.create(pk=1, name="Wren Hollow Works", address="Port Ellery")
    person = Person(page)
    signs_in(person)
    return person


def signs_in(person: Person) -> None:
    """Anew on every day: what was signed in weeks ago no longer is."""
    person.page.context.clear_cookies()
    person.page.goto("/")
    person.fills(username="odile", password=PASSWORD)
    person.sends()
    person.reads("Plan a batch")


def weighed(batch: Batch) -> Batch:
    """Every line to its target, from lots of that day."""
    for line in batch.lines.select_related("item"):
        kettle.weigh(line, lot=make.lot(line.item), at=datetime.now(UTC))
    return Batch.objects.get(pk=batch.pk)


def batch(version: Version, grams: str = "1000") -> Batch:
    return weighed(kettle.batch(version, target_g=grams, at=datetime.now(UTC)))


def weigh_bar(person: Person, lot: Lot, grams: str) -> None:
    signs_in(person)
    person.page.goto("/curing/")
    person.page.locator(f"[name='weight-{lot.pk}']").fill(grams)
    person.sends()


def sign(person: Person, reference: str, **values: str | bool) -> None:
    person.page.goto(f"/kettle/{reference}/release/")
    person.fills(**values, password=PASSWORD)
    person.sends()


def lot_of(made: Batch) -> Lot:
    return Lot.objects.select_related("item").get(origin=made.operation)


def cooks(person: Person, version: Version, grams: int, poured: str) -> Lot:
    """Planned, weighed at the stove line by line, poured and released; the lot of bulk."""
    person.goes("Kettle", "Plan a batch")
    batch = Batch.objects.first()
    assert batch
    person.fills(
        version=str(version.formula), kettle=str(batch.kettle), scale=str(batch.scale),
        target_g=str(grams),
    )  # fmt: skip
    person.sends()
    person.goes_on()
    for line in version.lines.select_related("item"):
        expect(person.page.get_by_role("heading", name=line.item.name)).to_be_visible()
        person.page.locator("#figure").fill(f"{line.share * grams / 100:.1f}")
        person.page.locator("[data-part='record']").click()
        person.page.wait_for_timeout(750)  # within 0.7 s it would be a double tap
    expect(person.page.get_by_role("heading", name="All ingredients are in.")).to_be_visible()
    person.goes_on()
    person.fills(part__0__measured_g=poured)
    person.sends()
    made = Batch.objects.latest("pk")
    sign(person, made.operation.reference)
    return lot_of(made)


def product_of(lot: Lot, fill: str, **values: Any) -> Product:
    """A product, which has its label, and packs enough for it."""
    product = packing.product(bulk=lot.item, fill_g=Decimal(fill), **values)
    LabelDesign.objects.create(product=product, sold_in_us=True)
    make.lot(product.container, on_hand=100, made_on=datetime.now(UTC).date())
    return product


def packs(person: Person, product: Product, units: int, weights: str = "") -> None:
    """A run from its beginning to the form that finishes it; the bulk is as it is proposed."""
    person.goes("Packing", f"Pack {product}")
    person.fills(units=str(units))
    person.sends()
    if weights:
        person.fills(weights=weights)
        person.sends()
        person.reads("passes")
    person.goes("Finish the run")
    person.sends()


def packed(person: Person, product: Product, units: int, weights: str) -> Lot:
    """The same, and the finished lot is released."""
    packs(person, product, units, weights)
    person.presses("Release the lot")
    person.reads("is released")
    return Lot.objects.select_related("item").get(item=product.item)


def sound() -> list[list[str]]:
    return [found.problems for found in run_checks() if found.problems]


def test_strained_herb_is_behind_the_tin_and_not_in_it(
    odile: Person, on: Callable[[int], None]
) -> None:
    oil = goods.material("Sunflower oil", inci_name="Helianthus Annuus Seed Oil")
    herb = goods.material("Marigold flowers", inci_name="Calendula Officinalis Flower")
    wax = goods.material("Beeswax", inci_name="Cera Alba")
    flowers = formulas.line(20, herb, is_strained_out=True, stays=EXTRACT, held_back=Decimal(60))
    infusion = batch(formulas.approved(formulas.line(80, oil), flowers))

    odile.page.goto(f"/kettle/{infusion.operation.reference}/pour/")
    odile.reads("Marc of Marigold flowers")
    marc = infusion.lines.get(item=herb)
    odile.page.locator(f"[name='marc-{marc.pk}']").fill("312,5")
    odile.fills(part__0__measured_g="675")
    odile.sends()
    odile.reads("312.5\u202fg left otherwise. Unexplained: 12.5\u202fg")
    sign(odile, infusion.operation.reference)
    oil_lot = lot_of(infusion)

    on(DAYS)  # the device at the stove knows today alone
    signs_in(odile)
    make.lot(wax)
    version = formulas.approved(
        formulas.line(60, oil_lot.item),
        formulas.line(40, wax),
        of=formulas.formula(name="Marigold salve"),
    )
    salve = cooks(odile, version, 1000, "980")
    tin = packed(
        odile,
        product_of(salve, "60", code="SAL-60", name="Hand salve 60 g"),
        12,
        "60.4 60.2 60.3 60.5 60.2 60.4 60.1 60.3 60.2 60.1 60.6 60.3",
    )

    odile.page.goto(f"/labels/{tin.code}/")
    odile.reads(re.compile(rf"Ingredients: Helianthus Annuus .*Oil.*, Beeswax.*, {EXTRACT}\."))
    herb_lot = marc.weighings.get().posting.lot
    odile.page.goto(f"/trace/{herb_lot.code}/")
    odile.reads(tin.shown_code)
    odile.reads("strained out")
    assert {part.inci_name for part, share in composition_of(tin).items() if not share} == {EXTRACT}
    assert sound() == []


def design(person: Person) -> Version:
    """From the fats alone to an approved soap, by clicking."""
    soaps.lye()
    soaps.water()
    draft = formulas.draft(
        formulas.line(80, soaps.olive()), formulas.line(20, soaps.coconut()), cure_days=42
    )
    person.page.goto(f"/formulas/version/{draft.pk}/")
    person.goes("Design a soap from these fats")
    person.fills(superfat="-1")
    person.presses("Work it out")
    person.reads("Below 0 % of superfat lye is left over")
    person.fills(superfat="5", cure_loss="8", label_g="110")
    person.presses("Work it out")
    person.reads("Glycerin formed")
    person.presses("Take lye and water into the draft")
    person.page.goto(f"/formulas/version/{draft.pk}/draft/")
    person.fills(
        weekly_loss_most="0.5", ph_least="8", ph_most="10.5", free_alkali_most="0.05",
        is_rinse_off=True,
    )  # fmt: skip
    person.presses("Save the draft")
    person.presses("Approve")
    person.reads("approved")
    return Version.objects.get(pk=draft.pk)


def test_soap_from_its_design_to_the_cured_bar(odile: Person, on: Callable[[int], None]) -> None:
    version = design(odile)
    odile.page.goto("/curing/racks/")
    odile.fills(name="Rack by the window")
    odile.sends()
    made = batch(version, "5000")
    reference = made.operation.reference
    odile.page.goto(f"/kettle/{reference}/pour/")
    odile.fills(part__0__measured_g="4960")
    odile.sends()
    lot = lot_of(made)
    odile.page.goto(f"/curing/{lot.code}/put/")
    odile.fills(rack="Rack by the window", place="trays 1 and 2", bars="41")
    odile.sends()

    for day, grams in ((0, "120.5"), (7, "115.3"), (14, "113.0"), (21, "112.1")):
        on(day)
        weigh_bar(odile, lot, grams)
        odile.reads(f"Lot {lot.shown_code}: ")
    sign(odile, reference)
    odile.reads("cures until")

    for day, grams in ((28, "111.6"), (35, "111.3"), (42, "111.1")):
        on(day)
        weigh_bar(odile, lot, grams)
    sign(odile, reference)
    odile.reads("was not tested")
    for kind, method, value in (("pH", "pH meter", "9.6"), ("free alkali", "ISO 456", "0.02")):
        odile.page.goto(f"/curing/{lot.code}/test/")
        odile.fills(kind=kind, method=method, value=value)
        odile.sends()
        odile.reads("Recorded")
    sign(odile, reference)
    odile.reads("Released")

    packs(odile, product_of(lot, "112", code="BAR-112", name="Olive soap 112 g"), 40)
    odile.reads("the label says 112.0\u202fg")
    product = product_of(lot, "110", code="BAR-110", name="Olive soap 110 g")
    bars = packed(odile, product, 40, BARS)
    held = balance(lot)
    assert held.counted == held.unaccounted == 0
    assert held.came_in == held.used + held.shed + held.on_hand
    assert Shed.objects.filter(lot=lot).by_kind() == {"dried": int(held.shed * 1000)}
    assert held.on_hand + held.used == pytest.approx(4960 * Decimal("111.1") / Decimal("120.5"))
    odile.page.goto(f"/stock/lot/{bars.code}/")
    odile.reads("40")

    # Three bars are chipped: grated, they are bulk again.
    odile.page.get_by_text("More", exact=True).first.click()
    odile.goes("Unpack")
    odile.fills(units="3", grams="333,2", reason="Chipped, to be grated")
    odile.sends()
    odile.reads("333.2\u202fg on hand")
    assert balance(bars).used == 3
    grated = Lot.objects.get(origin__kind=OperationKind.UNPACKING)
    assert composition_of(grated) == composition_of(lot)
    assert sound() == []
