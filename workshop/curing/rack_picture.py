"""The racks as a picture: so many bars, and the days that are over."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from workshop.curing.release_readiness import Cure


@dataclass(frozen=True)
class OnRack:
    """A lot on its rack on a day of its cure."""

    cure: Cure
    bars: int
    day: int
    days: int

    @property
    def left(self) -> str:
        to_go = self.days - self.day
        if to_go > 0:
            return f"{to_go} day{'' if to_go == 1 else 's'} to go"
        return "its days on the rack are over"

    @property
    def words(self) -> str:
        bars = f"{self.bars} bars, " if self.bars else ""
        return f"{bars}day {self.day} of {self.days}"


def on_racks_on(cures: Iterable[Cure], today: date) -> list[OnRack]:
    """Those of which a day is known, those ready first at the top."""
    return [
        OnRack(cure, _bars(cure), (today - cure.lot.made_on).days, cure.version.cure_days)
        for cure in cures
        if cure.version.cure_days
    ]


def _bars(cure: Cure) -> int:
    """How many bars there are, as they were put up; else, by what one weighs."""
    if cure.standing and cure.standing.bars:
        return int(cure.standing.bars)
    return int(cure.lot.on_hand / cure.bar_g) if cure.bar_g else 0
