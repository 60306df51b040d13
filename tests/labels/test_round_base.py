"""The base of a round tin: all words but the front's, the maker along its rim, every code read."""

from decimal import Decimal
from itertools import combinations
from math import hypot

import pytest

from tests.labels import build, paper
from workshop.labels.art.artwork import Artwork
from workshop.labels.art.drawing import Dress, composed
from workshop.labels.art.gram_art import Look
from workshop.labels.content.label import Label, label_for
from workshop.labels.layout.fit_to_label import draw
from workshop.labels.layout.label_stock import BY_KEY
from workshop.labels.layout.rim_text import Rim, rim_of
from workshop.labels.models import CodeKind, LabelDesign

pytestmark = pytest.mark.django_db

GTIN = "9520000700607"
ADDRESS = "Wren Hollow Works, 4 Quay Lane, Port Ellery, ME 04000, 555-0100"


def labelled(market: str, code: str = CodeKind.DATAMATRIX, **values: object) -> Label:
    build.workshop(certified_by="Certifier of the Coast")
    lot = build.balm(
        identity="hand salve",
        is_small_package=True,
        gtin=GTIN,
        cautions="For outside use.",
        **values,
    )
    product = lot.item.product
    LabelDesign.objects.create(
        product=product, code=code, sold_in_us=True, sold_in_eu=True, opened_months=12
    )
    if market == "EU":
        build.sheet(product, "EU")
    product.refresh_from_db()
    return label_for(lot, market)


@pytest.mark.parametrize(
    ("key", "market", "code"),
    [
        ("base-60", "US", CodeKind.DATAMATRIX),
        ("base-70", "EU", CodeKind.DATAMATRIX),
        ("base-60", "US", CodeKind.LINK),
    ],
)
def test_base_says_all_but_the_front_within_its_circle_and_its_codes_read(
    key: str, market: str, code: str
) -> None:
    label = labelled(market, code)
    layout = BY_KEY[key]

    drawn = draw(label, layout)

    found = paper.words_mm(drawn.pdf)
    said = "".join(letter for letter, _ in found)
    for words in (ADDRESS, *label.responsible_lines, label.declaration.list_text, label.cautions):
        assert words.replace(" ", "") in said
    assert all(words.replace(" ", "") in said for words in (label.lot_line, label.date_line))
    # Neither name nor net contents: these are the lid's.
    assert "60g" not in said
    radius = float(layout.width_mm) / 2
    for letter, (left, top, right, bottom) in found:
        corners = [(x, y) for x in (left, right) for y in (top, bottom)]
        # The box of a turned letter is larger than the letter, which ends at 1.5 mm.
        assert max(hypot(x - radius, y - radius) for x, y in corners) <= radius - 0.9, letter
    middles = [((box[0] + box[2]) / 2, (box[1] + box[3]) / 2) for _, box in found]
    rim = [hypot(x - radius, y - radius) > radius - 3.2 for x, y in middles]
    rows = [box for (_, box), is_rim in zip(found, rim, strict=True) if not is_rim]
    assert sum(rim) >= len(ADDRESS.replace(" ", ""))
    # Letters drawn as one share one box.
    pairs = combinations(sorted(set(rows)), 2)
    assert [pair for pair in pairs if paper.overlap(*pair)] == []
    assert min(paper.letter_heights_mm(drawn.words)) >= 25.4 / 32 * 0.97
    for dpi in (203, 300):
        (picture,) = paper.pictures(drawn.pdf, dpi, smooth=False)
        read = paper.codes_mm(picture, dpi)
        assert sorted(text for text, _ in read)[0][:4] in ("(01)", GTIN[:4])
        assert {GTIN} < {text for text, _ in read}
        assert len(read) == 2
        assert not any(paper.overlap(box, letter) for _, box in read for _, letter in found)


LAYOUTS = (
    "100x70", "square-80", "wrap-150x45", "belly-200x50", "back-70x90", "band-200x25", "base-70",
    "lid-60", "a4-6", "letter-6",
)  # fmt: skip


@pytest.mark.parametrize("key", LAYOUTS)
def test_no_letter_stands_on_another_or_near_the_trim_on_any_kind_of_label(key: str) -> None:
    # Common practice, no source: a cut may be a millimetre off.
    build.workshop(certified_by="Certifier of the Coast")
    lot = build.balm(
        identity="Hand salve", is_small_package=True, gtin=GTIN, label_name="Œuvre d’été für Füße",
        cautions="Keep away from eyes.", directions="Apply to dry skin.",
    )  # fmt: skip
    product = lot.item.product
    LabelDesign.objects.create(product=product, code=CodeKind.DATAMATRIX, sold_in_eu=True)
    build.sheet(product, "EU", languages=["de"])
    product.refresh_from_db()
    layout = BY_KEY[key]

    drawn = draw(label_for(lot, "EU"), layout)

    wide, high = float(layout.width_mm), float(layout.height_mm)
    found = paper.words_mm(drawn.pdf)
    assert drawn.warnings == ()
    for letter, (left, top, right, bottom) in found:
        assert min(left, top, wide - right, high - bottom) >= 1, letter
    # Letters that are drawn as one share one box, and those of a rim are turned.
    middle = wide / 2
    upright = {
        box
        for _, box in found
        if not layout.is_round
        or hypot((box[0] + box[2]) / 2 - middle, (box[1] + box[3]) / 2 - middle) < middle - 3.2
    }
    pairs = combinations(sorted(upright), 2)
    assert [pair for pair in pairs if paper.overlap(*pair)] == []


@pytest.mark.parametrize("code", [CodeKind.DATAMATRIX, CodeKind.LOT])
@pytest.mark.parametrize("key", ["band-180x18", "band-200x25"])
def test_band_has_its_codes_beside_its_words_and_both_are_read(key: str, code: str) -> None:
    # 21 CFR 701.3(b): an information panel; letters of 1/32 inch and more by 701.3(p).
    label = labelled("US", code)

    drawn = draw(label, BY_KEY[key])

    found = paper.words_mm(drawn.pdf)
    said = "".join(letter for letter, _ in found)
    for words in (ADDRESS, label.declaration.list_text, label.cautions, label.lot_line):
        assert words.replace(" ", "") in said
    assert min(paper.letter_heights_mm(drawn.words)) >= 25.4 / 32 * 0.97
    for dpi in (203, 300):
        (picture,) = paper.pictures(drawn.pdf, dpi, smooth=False)
        read = paper.codes_mm(picture, dpi)
        assert GTIN in {text for text, _ in read}
        assert len(read) == 2
        assert not any(paper.overlap(box, letter) for _, box in read for _, letter in found)
        # The words keep to the left of both codes but for those of the lot and the GTIN.
        edge = min(box[0] for _, box in read)
        beside = [letter for letter, box in found if box[2] <= edge]
        assert len(beside) >= len(ADDRESS.replace(" ", "") + label.declaration.list_text) * 0.9


def test_art_over_all_of_a_base_or_back_changes_no_letter(hostile: Artwork) -> None:
    label = labelled("US")

    for key in ("base-60", "back-50x70"):
        drawn = draw(label, BY_KEY[key])
        painted = composed(drawn.words, drawn.frame, Dress(Look(), 60, None, hostile))

        assert paper.words_mm(painted) == paper.words_mm(drawn.pdf)
        for dpi in (203, 300):
            plain, art = (paper.pictures(one, dpi, smooth=False)[0] for one in (drawn.pdf, painted))
            assert paper.codes(art) == paper.codes(plain)
            assert len(paper.codes(art)) == 2


def test_rim_holds_a_line_above_and_one_below_or_none() -> None:
    size = Decimal("1.634")
    rim = rim_of(Decimal(60), size, ADDRESS, ["Certified organic by Certifier of the Coast"])

    assert rim is not None
    assert rim.below
    assert rim.source.startswith("data:image/svg+xml")
    # Source: 7 CFR 205.303(b)(2), the certifier stands below the maker: not beside it.
    long = rim_of(Decimal(60), size, ADDRESS, ["Certified organic by " + "x" * 90])
    assert long == Rim(ADDRESS, "", Decimal(60), size)
    assert rim_of(Decimal(60), size, ADDRESS * 3, []) is None
    assert rim_of(Decimal(60), size, "", []) is None


def test_maker_too_long_for_the_rim_stands_among_the_words() -> None:
    build.workshop(address="\n".join(["44 Long Harbour Street of the Fishermen"] * 4))
    lot = build.balm(identity="hand salve", is_small_package=True)

    said = paper.text(draw(label_for(lot), BY_KEY["base-70"]).pdf)

    assert "44 Long Harbour Street of the Fishermen, 44 Long" in said
