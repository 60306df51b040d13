"""The superfat that a soap will have, by what is really in the kettle."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.rules.errors import RuleError
from workshop.rules.soap.design import Wanted, design_soap
from workshop.rules.soap.lye import Fat
from workshop.rules.soap.superfat import superfat_of, with_published_range

# The middle of each range, with its ends: olive 184-196, coconut 248-265, castor 176-187.
FATS = [
    Fat("olive oil", 600, 190, 184, 196),
    Fat("coconut oil", 300, Decimal("256.5"), 248, 265),
    Fat("castor oil", 100, Decimal("181.5"), 176, 187),
]
weights = st.decimals("0.1", 10_000, places=1)
values = st.integers(50, 400)


def test_planned_lye_comes_back_as_the_superfat_it_was_planned_for() -> None:
    plan = design_soap(FATS, Wanted(Decimal("0.05"), 2))

    found = superfat_of(FATS, {"NaOH": plan.naoh_g})

    assert found.usual == Fraction(5, 100)
    assert (found.least, found.most) == (plan.least_superfat, plan.most_superfat)


def test_worked_example_of_a_saponification_value() -> None:
    # ISO 3657: a value of 190 is 190 mg of KOH a gram, so 1000 g of the fat bind 190 g.
    olive = [Fat("olive oil", 1000, 190)]

    assert superfat_of(olive, {"KOH": 190}).usual == 0
    assert superfat_of(olive, {"KOH": 171}).usual == Fraction(1, 10)
    # By the molar masses 39.997 and 56.106, 135.4 g of NaOH do the same.
    assert abs(superfat_of(olive, {"NaOH": Decimal("135.45")}).usual) < Fraction(1, 10_000)


def test_two_alkalis_count_together() -> None:
    olive = [Fat("olive oil", 1000, 190)]
    half = Fraction("39.997") / Fraction("56.106") * 95

    assert superfat_of(olive, {"KOH": 95, "NaOH": half}).usual == 0


def test_lye_left_over_shows_below_zero() -> None:
    assert superfat_of([Fat("olive oil", 1000, 190)], {"KOH": 209}).usual == Fraction(-1, 10)


@given(st.lists(st.tuples(weights, values), min_size=1, max_size=6), weights, values, weights)
def test_more_fat_leaves_more_superfat_and_more_lye_less(
    fats: list[tuple[Decimal, int]], more: Decimal, value: int, lye_g: Decimal
) -> None:
    kettle = [Fat(f"fat {n}", grams, sv) for n, (grams, sv) in enumerate(fats)]
    before = superfat_of(kettle, {"NaOH": lye_g})

    assert superfat_of([*kettle, Fat("more", more, value)], {"NaOH": lye_g}).usual > before.usual
    assert superfat_of(kettle, {"NaOH": 2 * lye_g}).usual < before.usual
    assert before.least <= before.usual <= before.most


@pytest.mark.parametrize("fats", [[], [Fat("oil", 0, 190)], [Fat("oil", -1, 190)]])
def test_without_fat_there_is_no_soap(fats: list[Fat]) -> None:
    with pytest.raises(RuleError, match="needs fats that can bind its alkali"):
        superfat_of(fats, {"NaOH": 10})


def test_kind_that_is_not_published_has_no_range() -> None:
    oil = Fat("hearth oil", 100, 190)

    assert with_published_range(oil) == oil


def test_published_ends_count_even_where_a_data_sheet_is_narrower() -> None:
    # CXS 33: olive oil from 184 to 196.
    narrow = Fat("olive oil, our press", 100, 190, 188, 192)

    found = with_published_range(narrow, "Olea Europaea Fruit Oil")

    assert (found.least_sv, found.most_sv) == (184, 196)


def test_more_lye_than_none_is_needed_and_no_fat_below_nothing() -> None:
    olive = Fat("olive oil", 1000, 190)

    assert superfat_of([olive], {}).usual == superfat_of([olive], {"KOH": 0}).usual == 1
    for fats, lye in (([olive], -1), ([olive, Fat("oil", -1, 190)], 10)):
        with pytest.raises(RuleError, match="needs fats that can bind its alkali"):
            superfat_of(fats, {"KOH": lye})
    assert superfat_of([olive, Fat("wax", 0, 90)], {"KOH": 95}).usual == Fraction(1, 2)


@pytest.mark.parametrize(
    ("fat", "names", "ends"),
    [
        # CXS 33: olive oil from 184 to 196, by its own name or by another.
        (Fat("olive oil", 100, 190), (), (184, 196)),
        (Fat("our press", 100, 190), ("Olea Europaea Fruit Oil",), (184, 196)),
        # What its own sheet says beyond the published ends widens them.
        (Fat("olive oil", 100, 200), (), (184, 200)),
        (Fat("olive oil", 100, 180), (), (180, 196)),
        (Fat("olive oil", 100, 190, 182, None), (), (182, 196)),
        (Fat("olive oil", 100, 190, None, 198), (), (184, 198)),
    ],
)
def test_range_holds_the_published_ends_and_its_own(
    fat: Fat, names: tuple[str, ...], ends: tuple[int, int]
) -> None:
    found = with_published_range(fat, *names)

    assert (found.least_sv, found.most_sv) == ends
    assert (found.name, found.weight_g, found.sv) == (fat.name, fat.weight_g, fat.sv)


def test_refused_soap_of_too_little_fat() -> None:
    # By hand: 48 x 0.190 + 16 x 0.2565 = 13.224 g of KOH, as NaOH 9.427 g; 10 g leave 6.1 % over.
    fats = [Fat("olive oil", 48, 190), Fat("coconut oil", 16, Decimal("256.5"))]

    found = superfat_of(fats, {"NaOH": 10})

    assert round(float(found.usual) * 100, 1) == -6.1
