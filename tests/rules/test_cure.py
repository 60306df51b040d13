"""The cure of a soap: weekly losses, the forecast against SciPy, and the published tests."""

from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from math import exp

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import curve_fit

from workshop.rules.errors import RuleError
from workshop.rules.soap.cure import (
    Weighed,
    for_dryness,
    forecast,
    free_alkali_percent,
    week_loss,
)

FIRST = date(2026, 3, 2)


def weekly(*grams: str) -> list[Weighed]:
    whole = Fraction(grams[0])
    return [Weighed(FIRST + timedelta(7 * n), Fraction(g) / whole) for n, g in enumerate(grams)]


def test_bar_is_at_rest_in_its_fourth_week() -> None:
    """A maker's rule, a loss below 0.5 % in a week, on a bar of 120 g over four weeks."""
    bar = ("120.0", "114.6", "112.0", "110.9", "110.5")

    losses = [week_loss(weekly(*bar[: n + 1])) for n in range(1, 5)]

    assert [round(100 * float(loss or 0), 2) for loss in losses] == [4.5, 2.27, 0.98, 0.36]
    assert [loss is not None and loss < Fraction(5, 1000) for loss in losses] == [
        False, False, False, True,
    ]  # fmt: skip


def test_loss_of_ten_days_is_taken_to_a_week() -> None:
    points = [Weighed(FIRST, Fraction(1)), Weighed(FIRST + timedelta(10), Fraction(9, 10))]

    assert week_loss(points) == Fraction(7, 100)


def test_weighings_of_one_week_are_held_against_the_week_before() -> None:
    points = [*weekly("100", "95"), Weighed(FIRST + timedelta(8), Fraction(94, 100))]

    assert week_loss(points) == Fraction(6, 100) * 7 / 8


@given(st.integers(5, 40), st.integers(2, 30), st.integers(1, 6))
def test_forecast_of_an_exponential_loss_is_the_curve_that_scipy_fits(
    loss: int, half_life: int, weeks: int
) -> None:
    """100 - a(1 - e^(-kt)): three weighings a week apart fix the curve."""
    share, decay = loss / 100, 0.693147 / half_life

    def curve(day: float, a: float, k: float) -> float:
        return a * (1 - exp(-k * day))

    points = [
        Weighed(FIRST + timedelta(day), 1 - Fraction(curve(day, share, decay)))
        for day in (0, 7, 14)
    ]
    found = forecast(points, FIRST + timedelta(14 + 7 * weeks))
    fitted, _ = curve_fit(
        lambda days, a, k: [curve(day, a, k) for day in days],
        [0, 7, 14],
        [float(1 - one.left) for one in points],
        p0=(share, decay),
    )

    assert found is not None
    assert float(1 - found) == pytest.approx(curve(14 + 7 * weeks, *fitted), abs=2e-4)


def test_before_three_weighings_the_formula_says_what_is_expected() -> None:
    ready, expected = FIRST + timedelta(42), Fraction(12, 100)

    assert forecast([], ready) is None
    assert forecast([], ready, expected_loss=expected) == Fraction(88, 100)
    assert forecast(weekly("100", "95"), ready) is None
    assert forecast(weekly("100", "95"), ready, expected_loss=expected) == Fraction(88, 100)
    # What is gone already does not come back.
    assert forecast(weekly("100", "86"), ready, expected_loss=expected) == Fraction(86, 100)


def test_after_its_day_a_soap_weighs_what_it_weighed() -> None:
    assert forecast(weekly("100", "95", "93"), FIRST) == Fraction(93, 100)


def test_loss_that_does_not_slow_down_goes_on() -> None:
    ready = FIRST + timedelta(21)

    assert forecast(weekly("100", "99", "97"), ready) == Fraction(95, 100)
    assert forecast(weekly("100", "99", "99"), ready) == Fraction(99, 100)


def test_titration_of_a_textbook() -> None:
    """10.000 g, 2.40 mL of 0.100 M: 0.096 % as sodium hydroxide, above 0.05 and below 0.10."""
    found = free_alkali_percent(Decimal("2.40"), Decimal("0.100"), Decimal("10.000"))

    assert found == Fraction("0.096")


def test_correction_for_drying_of_is_2888() -> None:
    """Clause 5.6.2, grade 1, as a laboratory's report has it: 3.5 % at 72.9 % gives 3.65 %."""
    assert round(float(for_dryness(Decimal("3.5"), Decimal("72.9"), 76)), 2) == 3.65
    assert round(float(for_dryness(Decimal("0.006"), Decimal("72.9"), 76)), 4) == 0.0063


@pytest.mark.parametrize(
    "figures", [(1, 1, 0), (-1, 1, 1), (1, 0, 1)], ids=["no soap", "less acid", "water"]
)
def test_titration_that_cannot_be_is_refused(figures: tuple[int, int, int]) -> None:
    with pytest.raises(RuleError):
        free_alkali_percent(*figures)


@pytest.mark.parametrize("fatty", [0, 101])
def test_fatty_matter_of_no_soap_is_refused(fatty: int) -> None:
    with pytest.raises(RuleError):
        for_dryness(1, fatty, 76)
