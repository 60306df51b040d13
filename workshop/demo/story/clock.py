"""The workshop's days and its clock."""

from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from random import Random

from django.utils import timezone

OPENS, CLOSES = time(7), time(17)
# The days off that this workshop keeps, month and day.
HOLIDAYS = {(1, 1), (5, 1), (12, 24), (12, 25), (12, 26), (12, 31)}


def work_days(start: date, until: date) -> Iterator[date]:
    """Monday to Friday without the days off; the last day is worked whatever it is."""
    day = start
    while day < until:
        if day.weekday() < 5 and (day.month, day.day) not in HOLIDAYS:
            yield day
        day += timedelta(days=1)
    yield until


class Clock:
    """The time of one working day; it only goes forward."""

    def __init__(self, day: date, random: Random) -> None:
        self.day = day
        self._random = random
        self._now = self._at(OPENS)

    def _at(self, moment: time) -> datetime:
        return timezone.make_aware(datetime.combine(self.day, moment))

    @property
    def now(self) -> datetime:
        return self._now

    def reach(self, hour: int, minute: int = 0) -> None:
        """Wait until that time, unless it is later already."""
        self._now = max(self._now, self._at(time(hour, minute)))

    def after(self, least: float, most: float) -> datetime:
        """The time once between `least` and `most` minutes have passed, before closing."""
        seconds = self._random.randint(int(least * 60), int(most * 60))
        last = self._at(CLOSES) - timedelta(seconds=1)
        self._now = min(self._now + timedelta(seconds=seconds), last)
        return self._now
