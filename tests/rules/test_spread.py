"""Mean and spread, against the standard library, and the control chart by hand."""

import statistics
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.rules.errors import RuleError
from workshop.rules.quantities.variance_and_limits import (
    MICROGRAM_G,
    control_limits_g,
    mean_and_variance,
    root,
)

grams = st.decimals(1, 100, places=2)


@given(st.lists(grams, min_size=2, max_size=30))
def test_mean_and_deviation_agree_with_the_standard_library(values: list[Decimal]) -> None:
    mean, variance = mean_and_variance(values)

    assert mean == statistics.mean(map(Fraction, values))
    assert variance == statistics.variance(map(Fraction, values))
    assert float(root(variance)) == pytest.approx(float(variance) ** 0.5, abs=1e-6)


def test_control_limits_stand_around_the_mean() -> None:
    # By hand: mean 30.5, neighbours differ by 1; 30.5 ± 2.66
    assert control_limits_g([30, 31, 30, 31]) == (
        Fraction("30.5"),
        Fraction("27.84"),
        Fraction("33.16"),
    )
    with pytest.raises(RuleError, match="at least two fills"):
        control_limits_g([30])


@given(st.fractions(0, 10**6))
def test_root_is_rounded_to_a_microgram_as_asked(square: Fraction) -> None:
    down, up = root(square, ROUND_FLOOR), root(square, ROUND_CEILING)

    assert Fraction(down) ** 2 <= square <= Fraction(up) ** 2
    assert up - down in (0, MICROGRAM_G)


def test_single_weight_has_no_spread_and_none_no_mean() -> None:
    assert mean_and_variance([Decimal("30.2")]) == (Fraction("30.2"), Fraction())
    with pytest.raises(RuleError, match="Weigh at least one"):
        mean_and_variance([])
