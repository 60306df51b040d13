"""Where the art of a label stands, and what is left to its words: the words come first."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import ROUND_FLOOR, Decimal

from workshop.labels.layout.label_stock import Layout
from workshop.labels.models import Carries

D = Decimal
TENTH_MM = D("0.1")
# Parts of the radius left to the words, and parts of the height that a strip takes: the widest
# art first. Common practice, no source.
RING_PARTS = (D("0.68"), D("0.76"), D("0.84"))
STRIP_PARTS = (D("0.17"), D("0.12"), D("0.08"))
LEAST_STRIP_MM, MOST_STRIP_MM = D("2.5"), D(9)
LEAST_RING_MM = D("2.2")


@dataclass(frozen=True)
class Frame:
    """The layout of the words, where it stands on the label, and the shape of the art.

    `left_mm` and `top_mm` are from the upper left corner; `kind` is ring, strip or bare.
    """

    outer: Layout
    inner: Layout
    left_mm: Decimal
    top_mm: Decimal
    kind: str

    @property
    def below_mm(self) -> Decimal:
        """What lies between the words' layout and the lower edge of the label."""
        return self.outer.height_mm - self.top_mm - self.inner.height_mm


def bare(layout: Layout) -> Frame:
    """The whole label for its words."""
    return Frame(layout, layout, D(0), D(0), "bare")


def frames(layout: Layout) -> Iterator[Frame]:
    """The frames to try, the one with the most art first, the bare one last."""
    if layout.is_round:
        if layout.carries == Carries.FRONT:
            yield from _rings(layout)
    elif layout.height_mm >= MOST_STRIP_MM * 3:
        yield from _strips(layout)
    yield bare(layout)


def _rings(layout: Layout) -> Iterator[Frame]:
    radius = layout.width_mm / 2
    for part in RING_PARTS:
        left = ((1 - part) * radius).quantize(TENTH_MM, ROUND_FLOOR)
        if left < LEAST_RING_MM:
            return
        side = layout.width_mm - 2 * left
        inner = replace(layout, width_mm=side, height_mm=side, grid=None)
        yield Frame(layout, inner, left, left, "ring")


def _strips(layout: Layout) -> Iterator[Frame]:
    for part in STRIP_PARTS:
        high = min(MOST_STRIP_MM, (layout.height_mm * part).quantize(TENTH_MM, ROUND_FLOOR))
        if high < LEAST_STRIP_MM:
            return
        inner = replace(layout, height_mm=layout.height_mm - high, grid=None)
        yield Frame(layout, inner, D(0), high, "strip")
