"""The lot that a tin names: its code as somebody read it, and what it may have been meant as.

Complaints and recalls ask here. What the scan box takes a text for is in `front/search.py`.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from workshop.ledger.models import Lot
from workshop.rules.codes.gs1 import gtin_and_lot
from workshop.rules.codes.lot_codes import is_lot_code, near_misses, normalise_code, show_lot_code

LONGEST = 60
MOST_OFFERED = 5


@dataclass(frozen=True)
class CodeReading:
    """What was read, the lot of just that code, or else the nearest lots in the book."""

    code: str
    lot: Lot | None
    near: Sequence[Lot]

    @property
    def sentence(self) -> str:
        """Why no lot was found, and what to do."""
        shown = show_lot_code(self.code)
        if self.near:
            return f"There is no lot {shown}. Perhaps {' or '.join(map(str, self.near[:3]))}?"
        if is_lot_code(self.code):
            return f"There is no lot {shown} in the book."
        return f"“{shown}” is not a lot code. Read it again from the tin or the tag."


def read_lot(text: str) -> CodeReading:
    """One query, also for a carton's code that holds a lot."""
    return read_lots([text])[0]


def read_lots(texts: Sequence[str]) -> list[CodeReading]:
    """Several readings, still one query."""
    codes = [_code(text) for text in texts]
    guesses = {code: near_misses(code) for code in codes}
    wanted = {guess for near in guesses.values() for guess in near} | set(codes)
    rows = Lot.objects.filter(code__in=wanted).select_related("item", "origin")
    found = {lot.code: lot for lot in rows}
    return [
        CodeReading(
            code,
            found.get(code),
            [found[guess] for guess in guesses[code] if guess in found][:MOST_OFFERED],
        )
        for code in codes
    ]


def _code(text: str) -> str:
    carton = gtin_and_lot(text)
    return normalise_code(carton[1] if carton and carton[1] else text)[:LONGEST]
