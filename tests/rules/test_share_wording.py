"""Shares as sentences about labels write them: two digits at least, and told apart."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.rules.labels.share_wording import percent, percents

tiny_to_whole = st.fractions(Fraction(1, 10**8), 1)


@pytest.mark.parametrize(
    ("in_percent", "told"),
    # Common practice, no source; rounded by hand.
    [
        ("100", "100 %"),
        ("60", "60 %"),  # a nought of the number itself stays
        ("12.5", "12.5 %"),
        ("33.33333333", "33.3333 %"),
        ("0.01", "0.01 %"),  # the limit of what is rinsed off
        ("0.001", "0.001 %"),  # the limit of what is left on
        ("0.00123", "0.0012 %"),
        ("0.00104", "0.001 %"),
        ("0.0000001237", "0.00000012 %"),
        ("0.000991", "0.000991 %"),
        ("0.00001", "0.00001 %"),
        ("0.00000991", "0.00000991 %"),
        ("0.0000001", "0.0000001 %"),
        ("0.00000002", "0.00000002 %"),
    ],
)
def test_share_keeps_two_of_its_digits(in_percent: str, told: str) -> None:
    assert percent(Fraction(in_percent) / 100) == told


@pytest.mark.parametrize(
    ("more", "less", "told"),
    [
        ("50.01", "50", ("50.01 %", "50 %")),
        ("50.001", "50", ("50.001 %", "50 %")),
        ("50.0001", "50", ("50.0001 %", "50 %")),
        ("50.00001", "50", ("50.00001 %", "50 %")),
        ("50.0000000001", "50", ("50.0000000001 %", "50 %")),
        ("50", "50", ("50 %", "50 %")),
        ("33.33333333", "20", ("33.33 %", "20 %")),
        ("55.5", "45.25", ("55.5 %", "45.25 %")),
    ],
)
def test_two_shares_have_no_more_decimals_than_tell_them_apart(
    more: str, less: str, told: tuple[str, str]
) -> None:
    assert percents(Fraction(more) / 100, Fraction(less) / 100) == told


@given(tiny_to_whole)
def test_what_is_told_is_within_a_twentieth_of_the_share(share: Fraction) -> None:
    shown = Fraction(percent(share).removesuffix(" %")) / 100
    assert abs(shown - share) <= max(share / 20, Fraction(1, 2 * 10**10))


@given(tiny_to_whole, tiny_to_whole)
def test_the_greater_of_two_is_told_as_the_greater(one: Fraction, other: Fraction) -> None:
    more, less = (Fraction(told.removesuffix(" %")) for told in percents(one, other))
    if abs(one - other) > Fraction(1, 10**12):
        assert (more > less) == (one > other)
