"""How long stock lasts. Common practice, no source: the sums are checked against each other."""

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from workshop.rules.dates.stock_life import InStock, stock_lives

QUANTITIES = st.fractions(min_value=0, max_value=10_000, max_denominator=1000)
LOTS = st.lists(
    st.tuples(QUANTITIES, st.one_of(st.none(), st.integers(-50, 900))), min_size=1, max_size=6
)


def lots_of(drawn: list[tuple[Fraction, int | None]]) -> list[InStock]:
    """In the order in which they expire, those that never do last."""
    known = [InStock(quantity, days) for quantity, days in drawn]
    return sorted(known, key=lambda lot: (lot.days_left is None, lot.days_left or 0))


def test_nothing_is_used_of_what_has_expired() -> None:
    (past,) = stock_lives([InStock(Fraction(40), -3)], Fraction(2))

    assert past.used_up_days == 0
    assert past.left_over == 40


def test_what_nobody_uses_is_left_over_if_it_expires_at_all() -> None:
    dated, undated = stock_lives(
        [InStock(Fraction(40), 9), InStock(Fraction(40), None)], Fraction(0)
    )

    assert dated.used_up_days is None
    assert dated.left_over == 40
    assert undated.used_up_days is None
    assert undated.left_over == 0


@given(LOTS, st.fractions(min_value=Fraction(1, 100), max_value=100, max_denominator=100))
def test_what_is_used_and_what_is_left_over_is_all_there_was(
    drawn: list[tuple[Fraction, int | None]], a_day: Fraction
) -> None:
    lots = lots_of(drawn)
    lives = stock_lives(lots, a_day)
    begun = Fraction(0)

    for lot, life in zip(lots, lives, strict=True):
        assert life.used_up_days is not None
        assert life.would_last_days is not None
        assert life.left_over + (life.used_up_days - begun) * a_day == lot.quantity
        assert 0 <= life.left_over <= lot.quantity
        assert begun <= life.used_up_days <= life.would_last_days
        begun = life.used_up_days


@given(LOTS)
def test_a_faster_pace_leaves_no_more(drawn: list[tuple[Fraction, int | None]]) -> None:
    lots = lots_of(drawn)
    slow = sum(life.left_over for life in stock_lives(lots, Fraction(1)))

    assert sum(life.left_over for life in stock_lives(lots, Fraction(3))) <= slow
