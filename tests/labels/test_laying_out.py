"""Where the parts of a label stand: inside the circle, in the lowest part, at the right size."""

import re
from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import combinations, pairwise

import pypdfium2
import pytest

from tests.labels import build, paper
from workshop.core.errors import ActionRefused
from workshop.core.markets import (
    Market,
)
from workshop.labels.content.label import Label, label_for
from workshop.labels.layout import label_stock
from workshop.labels.layout.fit_estimate import part_filled
from workshop.labels.layout.fit_to_label import draw, fits
from workshop.labels.layout.font_metrics import width_em
from workshop.labels.layout.label_stock import BY_KEY, Layout
from workshop.labels.layout.page_markup import Page
from workshop.labels.layout.text_blocks import Sizes, with_nbsp
from workshop.labels.models import Art, ArtKind
from workshop.labels.printing.serial_numbers import numbered_pdf

pytestmark = pytest.mark.django_db

MM_PER_PT = 25.4 / 72
Letter = tuple[str, float, float, float, float]
LIDS = [one for one in label_stock.BUILT_IN if one.is_round and one.carries == "front"]
NAMES = [
    "Balm",
    "Calendula hand salve 60 g",
    "Grandmother's calendula and wild rose everyday hand and cuticle salve",
    "Crème für Füße & Hände, weiß",
]


@pytest.mark.parametrize(
    ("words", "parts"),
    [
        ("Best by 10 Nov 2027", ["Best", "by", "10\xa0Nov\xa02027"]),
        ("bis: 28. Okt. 2027", ["bis:", "28.\xa0Okt.\xa02027"]),
        ("avant fin : 28 oct. 2027", ["avant", "fin\xa0:", "28\xa0oct.\xa02027"]),
        ("« Cœur » de 5. März 2027", ["«\xa0Cœur\xa0»", "de", "5.\xa0März\xa02027"]),
        ("2 fl oz (60 mL) of 3 oils", ["2\xa0fl", "oz", "(60\xa0mL)", "of", "3", "oils"]),
    ],
)
def test_no_line_ends_within_a_date_a_quantity_or_before_a_french_sign(
    words: str, parts: list[str]
) -> None:
    # Common practice of typesetting, no source.
    assert with_nbsp(words).split(" ") == parts


def labelled(market: Market = Market.US, **values: object) -> Label:
    build.workshop(market=market)
    lot = build.balm(identity="hand salve", is_small_package=True, **values)
    # Words alone: what art leaves to them is tested with the art.
    colours = dict.fromkeys(("dark", "middle", "light"), "#000000")
    Art.objects.create(product=lot.item.product, kind=ArtKind.NONE, **colours)
    lot.item.product.refresh_from_db()
    return label_for(lot)


def letters(pdf: bytes) -> list[Letter]:
    """Each letter with left, top, right, bottom of its outline in mm from the upper left."""
    document = pypdfium2.PdfDocument(pdf)
    page = document[0]
    high = page.get_height()
    words = page.get_textpage()
    text = words.get_text_range()
    found = []
    for place, letter in enumerate(text):
        if letter.strip():
            left, bottom, right, top = words.get_charbox(place)
            sides = (left, high - top, right, high - bottom)
            found.append((letter, *(side * MM_PER_PT for side in sides)))
    document.close()
    return found


@pytest.mark.parametrize("market", list(Market))
@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("layout", LIDS, ids=lambda layout: layout.key)
def test_every_letter_of_a_lid_is_inside_its_circle(
    layout: Layout, name: str, market: Market
) -> None:
    label = labelled(market, label_name=name)
    radius = float(layout.width_mm) / 2

    found = letters(draw(label, layout).pdf)

    assert "".join(one[0] for one in found).startswith(name.split()[0][:3])
    for letter, left, top, right, bottom in found:
        for x, y in ((left, top), (right, top), (left, bottom), (right, bottom)):
            off = ((x - radius) ** 2 + (y - radius) ** 2) ** 0.5
            assert off <= radius - 0.7, (letter, x, y)


def test_lid_is_wider_than_the_square_inside_it() -> None:
    label = labelled(label_name="Calendula and wild rose hand and cuticle salve")
    side = float(BY_KEY["lid-70"].width_mm) * 0.707

    found = letters(draw(label, BY_KEY["lid-70"]).pdf)

    assert max(one[3] for one in found) - min(one[1] for one in found) > side


@pytest.mark.parametrize("name", NAMES[:2])
@pytest.mark.parametrize(
    "layout",
    [one for one in label_stock.BUILT_IN if one.carries != "information"],
    ids=lambda layout: layout.key,
)
def test_net_contents_stand_in_the_lowest_part(layout: Layout, name: str) -> None:
    # Source: 21 CFR 701.13(f): within the bottom 30 % of a panel above 5 square inches.
    label = labelled(label_name=name)

    drawn = draw(label, layout)

    assert drawn.warnings == ()
    net = letters(drawn.pdf)[-len("Netwt.2.11oz(60g)") :]
    assert "".join(one[0] for one in net) == "Netwt.2.11oz(60g)"
    highest = float(layout.height_mm) - min(one[2] for one in net)
    if layout.area_sq_in > 5:
        assert highest <= 0.3 * float(layout.height_mm)


@pytest.mark.parametrize("numbered", [False, True])
@pytest.mark.parametrize("layout", label_stock.ALL, ids=lambda layout: layout.key)
def test_codes_and_words_keep_off_each_other(layout: Layout, *, numbered: bool) -> None:
    label = labelled(gtin="9521234543213")
    try:
        paper_of = draw(label, layout, numbered=numbered).document.pages[0]
    except ActionRefused:
        # Two bars and their quiet zones leave the words too little.
        assert layout.key in ("letter-30", "a4-24")
        return

    parts = [paper_of.anchors[key] for key in ("code", "gtin", "net")]
    for first, second in combinations(parts, 2):
        beside = first[2] <= second[0] or second[2] <= first[0]
        assert beside or first[3] <= second[1] or second[3] <= first[1]


@pytest.mark.parametrize("key", ["100x70", "a4-8", "wrap-180x60", "lid-60", "square-60"])
@pytest.mark.parametrize("name", NAMES)
def test_label_is_printed_at_the_largest_size_that_fits_or_the_one_below(
    key: str, name: str
) -> None:
    label, layout = labelled(label_name=name), BY_KEY[key]
    page = Page(label, layout)
    tried = [
        Decimal(mm) for mm in ("0.9", "1.0", "1.15", "1.3", "1.45", "1.7", "1.85", "2.1", "2.4")
    ]

    chosen = draw(label, layout).letter_mm

    two_up = dict(zip(tried, tried[2:], strict=False)).get(chosen)
    if two_up:
        sizes = Sizes(two_up, max(two_up, page.least_net_mm))
        assert part_filled(page, sizes) > 1


@pytest.mark.parametrize(
    ("text", "is_bold"),
    [
        ("Helianthus Annuus (Sunflower) Seed Oil, Cera Alba (Beeswax)", False),
        ("PEG-4/Polyglyceryl-10 Pentastearate", False),
        ("Net wt. 2.11 oz (60 g)", True),
        ("Crème für Füße & Hände", True),
    ],
)
def test_guessed_width_of_words_is_that_of_the_paper(text: str, *, is_bold: bool) -> None:
    label = labelled(label_name=text if is_bold else "Balm", directions="" if is_bold else text)
    drawn = draw(label, BY_KEY["belly-200x50"])
    size = float(drawn.type_mm) * (1.9 if is_bold else 1)

    found = letters(drawn.pdf)

    bare = text.replace(" ", "")
    start = "".join(one[0] for one in found).index(bare)
    line = list(first_line(found[start : start + len(bare)]))
    said = "".join(one[0] for one in line)
    words = next(text[:end] for end in range(len(text) + 1) if text[:end].replace(" ", "") == said)
    width = line[-1][3] - line[0][1]
    assert len(said) > 8
    assert width == pytest.approx(
        width_em(words, is_bold=is_bold) * size, rel=0.07 if is_bold else 0.03
    )


def first_line(found: Sequence[Letter]) -> Iterator[Letter]:
    """The letters up to the first that stands further left than the one before."""
    yield found[0]
    for before, letter in pairwise(found):
        if letter[1] < before[1]:
            return
        yield letter


@pytest.mark.parametrize("layout", label_stock.ALL, ids=lambda layout: layout.key)
def test_quick_answer_whether_a_label_fits_is_that_of_drawing_it(layout: Layout) -> None:
    label = labelled(
        directions="Warm a little between the hands and work it in, as often as needed. " * 3,
        gtin="9521234543213",
    )
    try:
        draw(label, layout)
    except ActionRefused:
        does = False
    else:
        does = True

    assert fits(label, layout) is does


def test_numbered_sheet_skips_spoiled_cells() -> None:
    label = labelled(gtin="9521234543213")
    layout = BY_KEY["a4-8"]
    pdf = numbered_pdf(label, layout, range(1, 4), first_cell=2, spoiled_cells=frozenset({3}))

    assert [bool(cell) for cell in cells_used(pdf, layout)] == [
        False, True, False, True, True, False, False, False,
    ]  # fmt: skip


def cells_used(pdf: bytes, layout: Layout) -> list[set[tuple[str, str]]]:
    """The codes read in each cell."""
    [picture] = paper.pictures(pdf, 300)
    grid = layout.on_page
    return [
        paper.codes(
            paper.cell(
                picture,
                300,
                (
                    grid.left_mm + column * grid.step_right_mm,
                    grid.top_mm + row * grid.step_down_mm,
                    layout.width_mm,
                    layout.height_mm,
                ),
            )
        )
        for row in range(grid.rows)
        for column in range(grid.columns)
    ]


@pytest.mark.parametrize("key", ["letter-10", "wrap-150x45", "lid-60"])
def test_no_space_after_the_last_word_pushes_a_full_line_over(key: str) -> None:
    label = labelled(gtin="9521234543213", directions="Warm it first.")

    assert re.findall(r"\s</(?:p|span)>", Page(label, BY_KEY[key]).html) == []
