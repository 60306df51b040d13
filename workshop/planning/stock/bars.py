"""Stock as bars: how many weeks each product lasts, and how much of a lot's time is of use."""

from fractions import Fraction

from workshop.core.formatting import with_unit
from workshop.planning.stock.expiry import Leftover
from workshop.planning.stock.outlooks import Looked
from workshop.planning.week_and_stock_pictures import Bar, Colours, draw_bars

COVER_WEEKS = 12
SHORT_WEEKS = 2
MOST_BARS = 30
DAYS_SHOWN = 730
COVER_WORDS = "How many weeks each product lasts; the table says the same."
EXPIRY_WORDS = "What will expire unused at the present pace; the table says the same."
Covered = tuple[Looked, Fraction | None, str]


def cover_picture(rows: list[Covered], colours: Colours) -> str:
    shown = [
        Bar(
            one.product.item.name,
            float(min(weeks, Fraction(COVER_WEEKS)) if weeks is not None else COVER_WEEKS)
            / COVER_WEEKS,
            words,
            is_short=weeks is not None and weeks < SHORT_WEEKS,
        )
        for one, weeks, words in rows[:MOST_BARS]
    ]
    return draw_bars(shown, _ticks(COVER_WEEKS, 2, "weeks"), COVER_WORDS, colours)


def _ticks(most: int, step: int, unit: str) -> list[tuple[float, str]]:
    """Figures over a rule; the last one names the unit."""
    words = [(n, f"{n} {unit}" if n == most else str(n)) for n in range(0, most + 1, step)]
    return [(n / most, word) for n, word in words]


def expiry_picture(rows: list[Leftover], colours: Colours) -> str:
    """A bar reaches to the date; hatched is the time after which nothing of it would be needed."""
    shown = [
        Bar(
            f"{row.lot.item}, {row.lot}",
            row.days_left / DAYS_SHOWN,
            f"{with_unit(row.left_over, row.lot.item.unit)} left over",
            mark=row.used_share * row.days_left / DAYS_SHOWN,
        )
        for row in rows[:MOST_BARS]
    ]
    return draw_bars(shown, _ticks(24, 6, "months"), EXPIRY_WORDS, colours)
