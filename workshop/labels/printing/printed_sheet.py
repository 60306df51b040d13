"""The paper of a printing, as its row in the log orders it."""

from workshop.core.errors import ActionRefused
from workshop.labels.approval.print_status import LabelStatus
from workshop.labels.layout.fit_to_label import draw, draw_sticker
from workshop.labels.layout.label_stock import layout_of
from workshop.labels.models import Print, PrintKind
from workshop.labels.printing.serial_numbers import numbered_pdf
from workshop.labels.printing.sheet_imposition import put_on_paper


def sheet_of(printed: Print, standing: LabelStatus, *, count: int | None = None) -> bytes:
    """The PDF of a printing with the label as it stands, or of its first `count` labels.

    Raises ActionRefused where the label does not fit its paper, or for what is no such paper.
    """
    layout = layout_of(printed.layout)
    if printed.kind == PrintKind.CARTON or layout is None:
        raise ActionRefused("Carton labels are printed again, each with its own number.")
    count, first = count or printed.count, printed.first_cell
    cells = frozenset(printed.spoiled_cells)
    if printed.numbered and printed.kind == PrintKind.LABEL:
        numbers = range(printed.first_number, printed.first_number + count)
        return numbered_pdf(standing.label, layout, numbers, first_cell=first, spoiled_cells=cells)
    is_sticker = printed.kind == PrintKind.STICKER
    drawn = draw_sticker(standing.computed, layout) if is_sticker else draw(standing.label, layout)
    return put_on_paper(drawn.pdf, layout, count, first_cell=first, spoiled_cells=cells)
