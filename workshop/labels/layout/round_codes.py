"""The codes of a round base and the words beside them, as rows of its foot."""

from workshop.labels.content.label import Label
from workshop.labels.layout.font_metrics import width_em
from workshop.labels.layout.round_label import EASE
from workshop.labels.layout.text_blocks import AFTER, lot_lines, paragraphs

BESIDE_CODE_MM = 1
# As css/label.css has it: above the till code, between a code and words below it, and by how much a
# drawing beside words is higher than they are, in parts of the size of type.
ABOVE_TILL_MM, BELOW_CODE_MM, JAR_MORE = 1.5, 0.6, 0.8
# A code wider than the one has its words below it, and these are no wider than the other.
MOST_BESIDE_MM, MOST_WORDS_MM = 20.0, 24.0
# A word that just fits must not go over to the next line.
HAIR_MM = 0.2
Row = tuple[float, float]


def lot_rows(label: Label, size_mm: float, code: Row, *, is_stacked: bool) -> list[Row]:
    """The code of the lot and its words, side by side or above one another: widths and heights."""
    words = paragraphs(*lot_lines(label), size=size_mm)
    widest = max(width_em(one.text) * size_mm * EASE for one in words)
    wide = min(widest, MOST_WORDS_MM) + HAIR_MM
    high = sum(one.height_mm(wide) - size_mm * AFTER for one in words)
    if label.opened_line and label.law.has_open_jar:
        high += JAR_MORE * size_mm
    if is_stacked:
        return [code, (wide, high + BELOW_CODE_MM)]
    return [(code[0] + BESIDE_CODE_MM + wide, max(code[1], high))]
