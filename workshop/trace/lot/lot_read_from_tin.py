"""The lot that somebody names: by its code, a supplier's lot or the name of what is in it.

Complaints and recalls ask here. What the scan box takes a text for is in `front/search.py`.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from django.db.models import Q

from workshop.goods_in.models import ReceiptLine
from workshop.ledger.models import Lot
from workshop.rules.codes.gs1 import gtin_and_lot
from workshop.rules.codes.lot_codes import is_lot_code, near_misses, normalise_code, show_lot_code

LONGEST = 60
MOST_OFFERED = 5
MOST_NAMED = 10
LEAST_OF_A_NAME = 2


@dataclass(frozen=True)
class CodeReading:
    """What was read, the lot of just that code, or else the lots that can have been meant."""

    typed: str
    code: str
    lot: Lot | None
    near: Sequence[Lot]
    is_name: bool = False
    has_more: bool = False

    @property
    def sentence(self) -> str:
        """Why no lot was found, and what to do."""
        if self.is_name:
            if len(self.near) == 1:
                return f"“{self.typed}” is no code but a name; one lot of it is in the book."
            newest = f" These are the {MOST_NAMED} newest; write more, or the code." * self.has_more
            return f"“{self.typed}” can mean more than one lot.{newest}"
        shown = show_lot_code(self.code)
        if self.near:
            near = " or ".join(f"{lot}, {lot.item}" for lot in self.near[:3])
            return f"There is no lot {shown}. Perhaps {near}?"
        if is_lot_code(self.code):
            return f"There is no lot {shown} in the book."
        return (
            f"“{self.typed}” is not a lot code, a supplier's lot or a name in the book."
            " Read it again from the tin or the tag."
        )


def read_lot(text: str) -> CodeReading:
    """A lot by its code, also in a carton's code; else by a supplier's lot, near misses or a name.

    One query where the code is right; never a lot by a name alone, which is only offered.
    """
    reading = read_lots([text])[0]
    if reading.lot:
        return reading
    named = reading.typed
    suppliers = ReceiptLine.objects.effective().filter(supplier_lot__iexact=named)
    received = Q(pk__in=suppliers.values("lot")) | Q(opening__old_code__iexact=named)
    lots = _lots(received) if named else []
    if len(lots) == 1:
        return replace(reading, lot=lots[0])
    if not lots and (reading.near or len(named) < LEAST_OF_A_NAME):
        return reading
    lots = lots or _lots(Q(item__name__icontains=named) | Q(item__code__iexact=named))
    offered, more = lots[:MOST_NAMED], len(lots) > MOST_NAMED
    return replace(reading, near=offered, is_name=bool(lots), has_more=more)


def _lots(condition: Q) -> list[Lot]:
    """The newest first, and one more than are offered."""
    rows = Lot.objects.filter(condition).select_related("item", "origin")
    return list(rows.order_by("-pk")[: MOST_NAMED + 1])


def read_lots(texts: Sequence[str]) -> list[CodeReading]:
    """Several readings, still one query."""
    texts = [text.replace("\x00", "").strip()[:LONGEST] for text in texts]
    codes = [_code(text) for text in texts]
    guesses = {code: near_misses(code) for code in codes}
    wanted = {guess for near in guesses.values() for guess in near} | set(codes)
    rows = Lot.objects.filter(code__in=wanted).select_related("item", "origin")
    found = {lot.code: lot for lot in rows}
    return [
        CodeReading(
            text,
            code,
            found.get(code),
            [found[guess] for guess in guesses[code] if guess in found][:MOST_OFFERED],
        )
        for text, code in zip(texts, codes, strict=True)
    ]


def _code(text: str) -> str:
    carton = gtin_and_lot(text)
    return normalise_code(carton[1] if carton and carton[1] else text)[:LONGEST]
