"""A guess at the paper a label takes, so that it is laid out once, at the size that will fit."""

from workshop.labels.layout.font_metrics import width_em
from workshop.labels.layout.page_markup import PARTED_MM, Page
from workshop.labels.layout.round_codes import ABOVE_TILL_MM, BESIDE_CODE_MM
from workshop.labels.layout.round_label import best_start, end_in_circle
from workshop.labels.layout.text_blocks import (
    AFTER,
    LINE,
    NAME_SIZE,
    PANEL_NAME_SIZE,
    Sizes,
    TextBlock,
    front,
    heading,
    information,
    lot_lines,
    net,
    paragraphs,
)
from workshop.rules.labels.truth_check import STICKER_HEADING

TOO_MUCH_MM = 10_000.0


def part_filled(page: Page, sizes: Sizes) -> float:
    """The part of its height that a label takes at these sizes: above 1 it will not fit."""
    if page.circle:
        return _circle_filled(page, sizes)
    layout = page.layout
    high = float(layout.height_mm - 2 * layout.margin_mm - page.below_mm(sizes))
    inner = float(layout.inner_width_mm)
    name_size = PANEL_NAME_SIZE if page.is_wide else NAME_SIZE
    front_of = [*front(page.label, sizes, name_size=name_size), net(page.label, sizes)]
    if not page.has_front:
        front_of = []
    if page.is_band:
        side = page.side_mm(sizes)
        words = _height(information(page.label, sizes), inner - side - float(PARTED_MM))
        return max(words, _codes_mm(page, sizes, side)) / high
    if page.is_wide:
        narrow = float(page.front_mm(sizes))
        beside = _information_mm(page, sizes, inner - narrow - float(PARTED_MM))
        return max(_height(front_of, narrow), beside) / high
    return (_height(front_of, inner) + _information_mm(page, sizes, inner)) / high


def _circle_filled(page: Page, sizes: Sizes) -> float:
    circle, stop = page.circle, page.circle_stop(sizes)
    texts = page.circle_texts(sizes)
    if circle is None or stop <= 0:
        return TOO_MUCH_MM
    return end_in_circle(circle, texts, best_start(circle, texts, stop)) / stop


def _height(texts: list[TextBlock], width_mm: float) -> float:
    return sum(one.height_mm(width_mm) for one in texts)


def _information_mm(page: Page, sizes: Sizes, width_mm: float) -> float:
    if not page.has_information:
        return 0.0
    size, label = float(sizes.type_mm), page.label
    if page.is_sticker:
        words = f"{label.declaration.list_text} {label.declaration.organic_line}".strip()
        texts = [heading(STICKER_HEADING, size), *paragraphs(words, label.lot_line, size=size)]
        return _height(texts, width_mm)
    return _height(information(label, sizes), width_mm) + _codes_mm(page, sizes, width_mm)


def _codes_mm(page: Page, sizes: Sizes, width_mm: float) -> float:
    """What the codes and the words beside them take; far too much where one is too wide."""
    size, lines = float(sizes.type_mm), lot_lines(page.label)
    code, till = page.pictures["code"], page.pictures.get("gtin")
    till_mm = till.height_mm + size * LINE if till else 0.0
    if till and page.codes_are_beside:
        words = paragraphs("  ".join(lines), size=size)
        return _height(words, width_mm) + max(code.height_mm, till_mm)
    beside = width_mm - page.lot_code_mm - BESIDE_CODE_MM
    if width_em(page.label.lot_line) * size > beside or (till and till.width_mm > width_mm):
        return TOO_MUCH_MM
    words_mm = sum(one.height_mm(beside) - size * AFTER for one in paragraphs(*lines, size=size))
    apart = ABOVE_TILL_MM if till else 0
    return max(code.height_mm, words_mm) + apart + till_mm
