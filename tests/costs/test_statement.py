"""A period as it is logged: its sums are right to the cent."""

from decimal import Decimal
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from workshop.costs.currencies import DIGITS
from workshop.costs.period import CLASSES, IN_WORK, MOVES, Account, statement_of
from workshop.rules.money.amounts import rounded


@given(st.lists(st.fractions(-1000, 1000, max_denominator=997), min_size=5 * 6, max_size=5 * 6))
def test_every_figure_is_in_cents_and_every_column_adds_up_to_the_stock(
    drawn: list[Fraction],
) -> None:
    opening, *moves = [dict(zip(CLASSES, drawn[5 * n : 5 * n + 5], strict=True)) for n in range(6)]
    for name in range(2):  # what is made and used goes from one class to another
        moves[name][IN_WORK] -= sum(moves[name].values())
    named = dict(zip(["made", "used", "bought", "sent", "lost"], moves, strict=True))
    nothing = {name: dict.fromkeys(CLASSES, Fraction()) for name in MOVES}
    account = Account(opening, nothing | named, frozenset())
    *lines, closing = statement_of(account, "EUR")
    for one in CLASSES:
        assert sum(line.cells[one] for line in lines) == closing.cells[one]
        assert closing.cells[one] == rounded(account.closing[one], 2)
        assert all(line.cells[one] == round(line.cells[one], 2) for line in lines)
    assert not any(line.total for line in lines if line.key in ("made", "used"))
    (left,) = [line for line in lines if line.key == "rounding"] or [closing]
    assert left is closing or max(map(abs, left.cells.values())) < Decimal("0.1")


def test_currencies_have_the_smallest_units_of_the_standard() -> None:
    """ISO 4217, list one of 1 January 2026, as published by the datasets/currency-codes project."""
    two = dict.fromkeys(["USD", "EUR", "GBP", "CAD", "CHF", "SEK", "MGA", "MRU"], 2)
    none = dict.fromkeys(["JPY", "KRW", "CLP", "ISK"], 0)
    more = {**dict.fromkeys(["KWD", "BHD", "TND"], 3), "CLF": 4, "UYW": 4}
    expected = {**two, **none, **more}
    assert {code: DIGITS[code] for code in expected} == expected
    assert "XAU" not in DIGITS
