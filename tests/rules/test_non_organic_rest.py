"""What is not organic in a product, and which claims it stands in the way of."""

from fractions import Fraction

import pytest

from workshop.rules.ingredients.composition import Constituent
from workshop.rules.organic.non_organic_rest import is_left_out, rest_problems, the_rest

HALF, TENTH = Fraction(1, 2), Fraction(1, 10)
OIL = Constituent("Oil", is_organic=True)
STATUSES = (
    "", "organic", "listed_a", "listed_b", "listed_made_with", "listed_606",
    "listed_606_unsearched", "agricultural", "prohibited",
)  # fmt: skip


@pytest.mark.parametrize(
    ("claim", "refused"),
    [
        # 7 CFR 205.301(a): "100 percent organic" has no rest at all.
        ("100 percent organic", {*STATUSES}),
        # (b): organic, or on the National List; 205.606 only where none is to be had.
        (
            "organic",
            {"", "listed_made_with", "listed_606_unsearched", "agricultural", "prohibited"},
        ),
        # (c): agricultural ingredients of any kind, and what is on the National List.
        ("made with organic", {"", "prohibited"}),
        # (d): below 70 per cent only the list of ingredients speaks of organic.
        ("below 70", set()),
    ],
)
def test_each_claim_refuses_what_its_paragraph_does(claim: str, refused: set[str]) -> None:
    for status in STATUSES:
        part = Constituent("Wax", status=status)
        told = list(rest_problems({OIL: 1 - TENTH, part: TENTH}, claim))

        assert len(told) == (status in refused), status
        assert all(one.startswith("Wax is ") for one in told)


@pytest.mark.parametrize(
    "part",
    # 7 CFR 205.302(a): without the weight of water and salt.
    [
        Constituent("Aqua", kind="water"),
        Constituent("Sodium Chloride", kind="salt"),
        Constituent("Hydrosol", status="water"),
        Constituent("Sea Salt", status="salt"),
    ],
)
def test_water_and_salt_are_no_rest_under_any_claim(part: Constituent) -> None:
    assert is_left_out(part)
    assert the_rest({OIL: HALF, part: HALF}) == []
    assert list(rest_problems({OIL: HALF, part: HALF}, "100 percent organic")) == []


def test_the_rest_stands_by_weight_and_of_equal_weights_by_name() -> None:
    a, b, c = (Constituent(name) for name in "ABC")
    parts = {OIL: HALF, b: TENTH, a: TENTH, c: 3 * TENTH}

    assert the_rest(parts) == [c, a, b]


def test_plant_strained_out_counts_though_it_weighs_nothing_and_nothing_else_does() -> None:
    rosemary = Constituent("Rosemary", kind="extract")
    gone = Constituent("Gone")

    assert the_rest({OIL: Fraction(1), rosemary: Fraction(), gone: Fraction()}) == [rosemary]
    own = Constituent("Rosemary", kind="extract", is_organic=True)
    assert the_rest({OIL: Fraction(1), own: Fraction()}) == []
