"""What is said of a formula before it is approved: the order in which its lines go in."""

from decimal import Decimal

import pytest

from tests.formulas import build
from tests.goods_in import build as goods
from workshop.formulas.advice import warnings
from workshop.formulas.draft.validation import StepIn
from workshop.formulas.models import Version
from workshop.ledger.models import Item
from workshop.materials.models import Constituency

pytestmark = pytest.mark.django_db

SCENTED = StepIn(text="Cool, stir in the scent.", phase="C", to_c=Decimal(58))


def wax() -> Item:
    return goods.material("Beeswax", melting_from_c=Decimal(62), melting_to_c=Decimal(65))


def scent() -> Item:
    return goods.material("Lavender oil", constituency=Constituency.FRAGRANCE)


def of(*lines: object, steps: list[StepIn]) -> Version:
    made = build.draft(*lines, steps=steps)  # type: ignore[arg-type]  # lines of the builder
    return Version.objects.in_full().get(pk=made.pk)


def test_scent_that_cools_down_before_the_wax_is_melted_is_warned_about() -> None:
    oil = build.line(80, goods.material("Sunflower oil"))
    waxed = build.line(18, wax(), is_irreversible=True)
    scented = build.line(2, scent(), phase="C")
    steps = [build.melt(), SCENTED]

    assert warnings(of(oil, waxed, scented, steps=steps)) == []
    assert warnings(of(oil, scented, waxed, steps=steps)) == [
        "Lavender oil goes in at 58 °C at most, but Beeswax after it needs 70 °C: what heat harms "
        "goes in last."
    ]


def test_scent_is_known_to_bear_no_heat_and_wax_to_need_some_without_any_step() -> None:
    scented, waxed = build.line(2, scent(), phase="C"), build.line(98, wax())

    assert warnings(of(scented, waxed, steps=[])) == [
        "Lavender oil goes in at 60 °C at most, but Beeswax after it needs 65 °C: what heat harms "
        "goes in last."
    ]


def test_lye_water_that_cools_before_the_fats_is_in_order() -> None:
    lye = build.line(30, goods.material("Lye", constituency=Constituency.ALKALI, is_organic=False))
    fats = build.line(
        70,
        goods.material("Shea butter", melting_from_c=Decimal(32), melting_to_c=Decimal(38)),
        phase="B",
    )
    cool = StepIn(text="Let the lye cool.", phase="A", to_c=Decimal(45))
    melted = StepIn(text="Melt the fats.", phase="B", from_c=Decimal(35), to_c=Decimal(48))

    assert warnings(of(lye, fats, steps=[cool, melted])) == []
