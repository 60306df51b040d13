"""How many units a week are likely to be wanted, from what went out so far."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from workshop.rules.quantities.units import Exact
from workshop.rules.quantities.variance_and_limits import mean_and_variance

Way = Literal["none", "typed", "season", "now and then", "level"]

YEAR = 52
QUARTER = 13
# Above this mean interval between weeks with demand a product counts as intermittent.
# Source: Syntetos, Boylan and Croston (2005), from memory.
OFTEN = Fraction("1.32")
ALPHA = Fraction(1, 10)
LEVEL_ALPHA = Fraction(1, 5)
THOUSANDTHS = 1000
LEAST_TREND, MOST_TREND = Fraction(1, 2), Fraction(2)


@dataclass(frozen=True)
class Smoothed:
    """Croston's two smoothed figures: units a time, and weeks from one time to the next."""

    size: Fraction
    interval: Fraction

    @property
    def per_week(self) -> Fraction:
        """What Croston's method expects of a week."""
        return self.size / self.interval


@dataclass(frozen=True)
class Demand:
    """What is likely to be wanted in each week to come, by which way, and how much it varies."""

    way: Way
    weeks: tuple[Fraction, ...]
    variance: Fraction = Fraction()

    @property
    def mean(self) -> Fraction:
        """Units in an average week of those to come."""
        return sum(self.weeks, Fraction()) / len(self.weeks) if self.weeks else Fraction()


def expected(
    history: Sequence[int], weeks_ahead: int, *, typed_per_week: Exact | None = None
) -> Demand:
    """Return what each of the weeks to come is likely to want.

    A figure that somebody typed counts before all others. Else: what is wanted now and then by
    Croston's method with the correction of Syntetos and Boylan; with more than a year and a
    quarter of history the season of last year times the trend; else a smoothed level.

    Units: `history` in units a week, the oldest first, the last one the latest whole week.
    Error: each week is rounded to a thousandth of a unit.
    Source: Croston (1972), Syntetos and Boylan (2005), from memory; season times trend is common
        practice, no source.

    >>> expected([3] * 20, 2).weeks
    (Fraction(3, 1), Fraction(3, 1))
    >>> expected([], 2).way
    'none'
    """
    recent = history[-YEAR:]
    variance = mean_and_variance(recent)[1] if len(recent) > 1 else Fraction()
    if typed_per_week is not None:
        return Demand("typed", (Fraction(typed_per_week),) * weeks_ahead, variance)
    if not any(recent):
        return Demand("none", (Fraction(),) * weeks_ahead)
    started = _from_first(history)
    seldom = croston(started[-YEAR:], ALPHA)
    if seldom and _mean_interval(started[-YEAR:]) > OFTEN:
        per_week = _rounded(seldom.per_week * (1 - ALPHA / 2))
        return Demand("now and then", (per_week,) * weeks_ahead, variance)
    if len(started) >= YEAR + QUARTER:
        return Demand("season", _season(started, weeks_ahead), variance)
    first = started[:4]
    level = smoothed(started, LEVEL_ALPHA, Fraction(sum(first), len(first)))
    return Demand("level", (_rounded(level),) * weeks_ahead, variance)


def croston(history: Sequence[int], alpha: Exact) -> Smoothed | None:
    """Return size and interval of what is wanted now and then; None where nothing ever was.

    Both begin at their first value and are smoothed only in weeks with demand.

    Units: units and weeks. Error: none. Source: Croston (1972), from memory.

    >>> found = croston([0, 0, 5, 0, 0, 0, 4, 0, 6, 0], Fraction(1, 5))
    >>> found.size, found.interval, round(float(found.per_week), 6)
    (Fraction(126, 25), Fraction(74, 25), 1.702703)
    """
    found: Smoothed | None = None
    weeks = 0
    weight = Fraction(alpha)
    for units in history:
        weeks += 1
        if units <= 0:
            continue
        if found is None:
            found = Smoothed(Fraction(units), Fraction(weeks))
        else:
            size = found.size + weight * (units - found.size)
            found = Smoothed(size, found.interval + weight * (weeks - found.interval))
        weeks = 0
    return found


def smoothed(history: Sequence[Exact], alpha: Exact, start: Exact) -> Fraction:
    """Return the next value by simple exponential smoothing from a first forecast.

    Units: as the history. Error: none. Source: Brown's simple smoothing, from memory.

    >>> smoothed([180, 168], Fraction(1, 10), 175)
    Fraction(699, 4)
    """
    weight, level = Fraction(alpha), Fraction(start)
    for value in history:
        level += weight * (Fraction(value) - level)
    return level


def weeks_of_cover(stock: Exact, weeks: Sequence[Fraction]) -> Fraction | None:
    """Return for how many of the weeks to come the stock lasts; None where it outlasts them all.

    Units: stock in units, weeks in units a week. Error: none; within a week it goes evenly.
    Source: stock by use, common practice, no source.

    >>> weeks_of_cover(10, [Fraction(4), Fraction(4), Fraction(4)])
    Fraction(5, 2)
    """
    left = max(Fraction(stock), Fraction())
    for number, wanted in enumerate(weeks):
        if wanted > left:
            return number + left / wanted
        left -= wanted
    return None


def _from_first(history: Sequence[int]) -> Sequence[int]:
    """Before its first sale a product was not on offer."""
    first = next((place for place, units in enumerate(history) if units), len(history))
    return history[first:]


def _mean_interval(history: Sequence[int]) -> Fraction:
    return Fraction(len(history), sum(1 for units in history if units))


def _season(history: Sequence[int], weeks_ahead: int) -> tuple[Fraction, ...]:
    """Last year's week with its neighbours, times how this quarter stands to last year's."""
    now, before = sum(history[-QUARTER:]), sum(history[-YEAR - QUARTER : -YEAR])
    trend = min(max(Fraction(now, before), LEAST_TREND), MOST_TREND) if before else Fraction(1)
    found = []
    for ahead in range(weeks_ahead):
        middle = len(history) - YEAR + ahead % YEAR
        near = history[max(middle - 1, 0) : middle + 2]
        found.append(_rounded(trend * Fraction(sum(near), len(near))))
    return tuple(found)


def _rounded(value: Fraction) -> Fraction:
    return Fraction(round(value * THOUSANDTHS), THOUSANDTHS)
