"""Labels on paper: codes and type read back from the PDF itself."""

from decimal import Decimal

import pytest

from tests.labels import build, paper
from workshop.core.errors import ActionRefused
from workshop.core.markets import (
    Market,
)
from workshop.labels.content.label import Label, label_for
from workshop.labels.layout import label_stock
from workshop.labels.layout.fit_to_label import draw
from workshop.labels.layout.label_stock import Layout
from workshop.labels.printing.sheet_imposition import put_on_paper

pytestmark = pytest.mark.django_db

SHEETS = [layout for layout in label_stock.ALL if layout.grid]
EAN = "9521234543213"  # GS1's demonstration prefix 952


@pytest.fixture
def label() -> Label:
    """A small tin's label with a short list."""
    build.workshop()
    return label_for(build.balm(is_small_package=True, identity="hand salve"))


def cells(layout: Layout) -> list[tuple[Decimal, ...]]:
    """Each cell of a sheet as x, y, width, height in millimetres."""
    grid = layout.grid
    assert grid is not None
    return [
        (
            grid.left_mm + column * grid.step_right_mm,
            grid.top_mm + row * grid.step_down_mm,
            layout.width_mm,
            layout.height_mm,
        )
        for row in range(grid.rows)
        for column in range(grid.columns)
    ]


@pytest.mark.parametrize("smooth", [True, False])
@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("key", ["70x37", "100x50", "100x70"])
def test_code_of_a_single_label_reads_back(
    label: Label, key: str, dpi: int, *, smooth: bool
) -> None:
    pdf = draw(label, label_stock.BY_KEY[key]).pdf

    [page] = paper.pictures(pdf, dpi, smooth=smooth)

    assert paper.codes(page) == {("Code 128", label.lot.code)}


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("key", ["a4-24", "a4-8", "letter-10"])
def test_code_in_every_cell_of_a_sheet_reads_back(label: Label, key: str, dpi: int) -> None:
    layout = label_stock.BY_KEY[key]
    boxes = cells(layout)
    pdf = put_on_paper(draw(label, layout).pdf, layout, len(boxes))

    [page] = paper.pictures(pdf, dpi)

    read = [paper.codes(paper.cell(page, dpi, box)) for box in boxes]
    assert read == [{("Code 128", label.lot.code)}] * len(boxes)


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize(
    ("gtin", "key", "code"),
    [
        (EAN, "100x70", ("EAN-13", EAN)),
        (EAN, "70x37", ("EAN-13", EAN)),
        # A UPC-A is the EAN-13 that begins with 0, bar for bar.
        ("952123454324", "100x70", ("EAN-13", "0952123454324")),
    ],
)
def test_gtin_reads_back_beside_the_lot(
    dpi: int, gtin: str, key: str, code: tuple[str, str]
) -> None:
    build.workshop()
    label = label_for(build.balm(gtin=gtin, is_small_package=True))

    [page] = paper.pictures(draw(label, label_stock.BY_KEY[key]).pdf, dpi)

    assert paper.codes(page) == {("Code 128", label.lot.code), code}


@pytest.mark.parametrize("layout", label_stock.ALL, ids=lambda layout: layout.key)
def test_paper_says_every_word_of_the_label(layout: Layout) -> None:
    build.workshop()
    lot = build.finished(
        [(build.oil("Olea Oil"), 8), (build.oil("Cera Alba"), 2)], is_small_package=True
    )
    label = label_for(lot)

    words = paper.text(draw(label, layout).pdf)

    places = [words.find(" ".join(line.split())) for line in label.lines]
    assert -1 not in places, [
        line for line, place in zip(label.lines, places, strict=True) if place < 0
    ]


@pytest.mark.parametrize(
    ("is_small", "least_inch"),
    [(False, 1 / 16), (True, 1 / 32)],  # Source: 21 CFR 701.3(b) and (p)
)
@pytest.mark.parametrize("key", ["70x37", "100x70", "a4-8"])
def test_no_letter_is_lower_than_the_law_allows(
    key: str, *, is_small: bool, least_inch: float
) -> None:
    build.workshop()
    lot = build.finished(
        [(build.oil("Olea Oil"), 8), (build.oil("Cera Flavo"), 2)], is_small_package=is_small
    )

    drawn = draw(label_for(lot), label_stock.BY_KEY[key])

    heights = paper.letter_heights_mm(drawn.pdf)
    assert min(heights) >= least_inch * 25.4
    assert min(paper.letter_heights_mm(drawn.pdf, "a")) >= float(drawn.letter_mm)


@pytest.mark.parametrize(
    ("key", "least_inch"),
    [("70x37", 1 / 16), ("100x70", 1 / 8), ("a4-8", 1 / 8)],  # Source: 21 CFR 701.13(i)
)
def test_net_contents_are_as_high_as_the_panel_asks(
    label: Label, key: str, least_inch: float
) -> None:
    drawn = draw(label, label_stock.BY_KEY[key])

    # The last o of the label is that of "oz".
    assert paper.letter_heights_mm(drawn.pdf)[-1] >= least_inch * 25.4
    assert drawn.warnings == ()


def test_eu_contents_of_60_g_have_figures_3_mm_high() -> None:
    build.workshop(market=Market.EU)
    label = label_for(build.balm(is_small_package=True, name="Salve"))

    # Source: Directive 76/211/EEC, Annex I, 3.1, from memory: over 50 g up to 200 g.
    drawn = draw(label, label_stock.BY_KEY["100x50"])

    assert max(paper.letter_heights_mm(drawn.pdf, "6")) >= 3


def test_long_list_is_printed_smaller_rather_than_cut(label: Label) -> None:
    longer = label_for(
        build.finished(
            [(build.oil(f"Long Botanical Name Seed Oil {n}"), 20 - n) for n in range(9)],
            is_small_package=True,
        )
    )
    layout = label_stock.BY_KEY["100x50"]

    short, long = draw(label, layout), draw(longer, layout)

    assert long.letter_mm < short.letter_mm
    assert "Long Botanical Name Seed Oil 8." in paper.text(long.pdf)


def test_label_that_cannot_fit_says_which_parts_have_no_room() -> None:
    build.workshop()
    many: list[build.Part] = [(build.oil(f"Botanical Oil {n}"), 30 - n) for n in range(14)]
    label = label_for(build.finished(many, cautions="For external use only."))

    with pytest.raises(ActionRefused) as refused:
        draw(label, label_stock.BY_KEY["70x37"])

    assert refused.value.field == "layout"
    assert refused.value.message == (
        "On 70 × 37 mm there is no room for the maker's name and address, the bar code, the lot "
        "and its date and the net contents, with letters 1.6 mm high, the least that is allowed. "
        "Choose a larger label."
    )


def test_sheet_begins_at_the_cell_that_is_asked_for(label: Label) -> None:
    layout = label_stock.BY_KEY["a4-24"]

    pdf = put_on_paper(draw(label, layout).pdf, layout, 4, first_cell=23)

    first, second = paper.pictures(pdf, 203)
    used = [
        [
            place
            for place, box in enumerate(cells(layout), 1)
            if paper.codes(paper.cell(page, 203, box))
        ]
        for page in (first, second)
    ]
    assert used == [[23, 24], [1, 2]]


@pytest.mark.parametrize(
    ("key", "size"),
    [("a4-24", (210.0, 297.0)), ("letter-10", (215.9, 279.4)), ("70x37", (70.0, 37.0))],
)
def test_paper_has_its_exact_size(label: Label, key: str, size: tuple[float, float]) -> None:
    layout = label_stock.BY_KEY[key]

    assert set(paper.page_sizes_mm(put_on_paper(draw(label, layout).pdf, layout, 3))) == {size}


def test_roll_has_one_page_for_each_label(label: Label) -> None:
    layout = label_stock.DEFAULT

    assert len(paper.page_sizes_mm(put_on_paper(draw(label, layout).pdf, layout, 40))) == 40


def test_many_labels_weigh_hardly_more_than_one(label: Label) -> None:
    layout = label_stock.BY_KEY["a4-24"]
    one = draw(label, layout).pdf

    assert len(put_on_paper(one, layout, 2400)) < 3 * len(one)


@pytest.mark.parametrize(
    ("count", "first_cell", "sentence"),
    [
        (0, 1, "Print from 1 to 10000 labels at a time."),
        (10_001, 1, "Print from 1 to 10000 labels at a time."),
        (5, 25, "This sheet has cells 1 to 24; there is no cell 25."),
        (5, 0, "This sheet has cells 1 to 24; there is no cell 0."),
    ],
)
def test_odd_counts_and_cells_are_refused(
    label: Label, count: int, first_cell: int, sentence: str
) -> None:
    layout = label_stock.BY_KEY["a4-24"]
    pdf = draw(label, layout).pdf

    with pytest.raises(ActionRefused, match=sentence):
        put_on_paper(pdf, layout, count, first_cell=first_cell)


@pytest.mark.parametrize("layout", SHEETS, ids=lambda layout: layout.key)
def test_grid_lies_within_its_sheet_and_labels_do_not_overlap(layout: Layout) -> None:
    grid = layout.grid
    assert grid is not None
    x, y, width, height = cells(layout)[-1]

    assert x + width <= grid.page_width_mm
    assert y + height <= grid.page_height_mm
    assert grid.step_right_mm >= width
    assert grid.step_down_mm >= height


def test_preview_is_marked_and_print_is_not(label: Label) -> None:
    layout = label_stock.DEFAULT

    assert "PREVIEW" in paper.text(draw(label, layout, preview=True).pdf)
    assert "PREVIEW" not in paper.text(draw(label, layout).pdf)
