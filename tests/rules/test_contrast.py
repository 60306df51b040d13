"""Contrast of two colours, held to WCAG 2.1, and a colour as the four inks."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.rules.errors import RuleError
from workshop.rules.labels.contrast import LEAST_CONTRAST, cmyk_of, contrast, luminance

colours = st.integers(0, 0xFFFFFF).map(lambda number: f"#{number:06x}")


@pytest.mark.parametrize(
    ("colour", "light"),
    [
        # WCAG 2.1, relative luminance: the three weights, and their sum.
        ("#ff0000", "0.2126"), ("#00ff00", "0.7152"), ("#0000ff", "0.0722"),
        ("#ffffff", "1.0000"), ("#000000", "0.0000"), (" #FFFFFF ", "1.0000"),
        # 10/255 = 0.0392 is on the straight part (over 12.92), 11/255 on the power; by hand.
        ("#0a0a0a", "0.0030"), ("#0b0b0b", "0.0033"), ("#050505", "0.0015"), ("#808080", "0.2159"),
    ],
)  # fmt: skip
def test_luminance_is_that_of_the_formula(colour: str, light: str) -> None:
    assert luminance(colour) == Decimal(light)


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    # Against white, as contrast checkers in circulation print them: 21, 8.59, 5.25, 4.54, 7.0.
    [
        ("#000000", "#ffffff", "21.0"), ("#0000ff", "#ffffff", "8.6"),
        ("#ff0000", "#000000", "5.3"), ("#767676", "#ffffff", "4.5"),
        ("#595959", "#ffffff", "7.0"), ("#ffff00", "#ffffff", "1.1"),
        ("#b5500f", "#b5500f", "1.0"),
    ],
)  # fmt: skip
def test_contrast_is_that_of_published_pairs(one: str, other: str, ratio: str) -> None:
    assert contrast(one, other) == contrast(other, one) == Decimal(ratio)
    assert LEAST_CONTRAST == 7  # success criterion 1.4.6


@given(colours, colours)
def test_contrast_lies_between_1_and_21(one: str, other: str) -> None:
    assert 1 <= contrast(one, other) <= 21


@pytest.mark.parametrize(
    ("colour", "inks"),
    # Common practice, no source: grey to black ink, the rest in its proportion; by hand.
    [
        ("#ff0000", ("0", "1", "1", "0")),
        ("#00ff00", ("1", "0", "1", "0")),
        ("#336699", ("0.667", "0.333", "0", "0.4")),
        ("#808080", ("0", "0", "0", "0.498")),
        ("#000000", ("0", "0", "0", "1")),
        ("#ffffff", ("0", "0", "0", "0")),
    ],
)
def test_colour_is_told_in_four_inks(colour: str, inks: tuple[str, ...]) -> None:
    assert cmyk_of(colour) == tuple(map(Decimal, inks))


@given(colours)
def test_inks_give_the_colour_back_and_never_all_four(colour: str) -> None:
    *inks, black = cmyk_of(colour)
    assert min(inks) == 0
    back = [255 * (1 - ink) * (1 - black) for ink in inks]
    given = [int(colour[place : place + 2], 16) for place in (1, 3, 5)]
    assert all(abs(one - other) < 1 for one, other in zip(back, given, strict=True))


@pytest.mark.parametrize("text", ["", "b5500f", "#b5500", "#b5500fa", "#b5500g", "red"])
def test_what_is_no_colour_is_refused_as_written(text: str) -> None:
    with pytest.raises(RuleError) as refused:
        luminance(text)
    assert str(refused.value) == f"“{text}” is no colour. Write it as #b5500f."
