"""Carton labels: read back as a printer makes them, with all their words, and legal for GS1."""

import random
from dataclasses import replace
from typing import Any

import pytest

from tests import make
from tests.labels import build, paper
from tests.rules.gs1_rules import identifiers, wrong_pairs
from workshop.core.errors import ActionRefused
from workshop.core.models import Role, User
from workshop.labels.content.label import Label, label_for
from workshop.labels.layout import barcode_data
from workshop.labels.models import Print
from workshop.labels.printing import case_labels
from workshop.labels.services.cartons import print_cartons
from workshop.ledger.models import Lot
from workshop.rules.codes.gs1 import element_string, parse_element_string
from workshop.rules.codes.lot_codes import make_lot_code
from workshop.rules.codes.sscc import following, sscc

pytestmark = pytest.mark.django_db

EAN = "9521234543213"  # GS1's demonstration prefix 952
PREFIX = "9521234"
RANDOM = random.Random(703)
LOTS = [make_lot_code(RANDOM.randrange) for _ in range(7)] + ["2222227", "WWMMWWS", "99AB2CW"]
LONG = {
    "label_name": "Winter hand salve with sunflower, beeswax and marigold, for rough weather",
    "identity": "hand salve",
}


def label(**values: Any) -> Label:
    build.workshop()
    return label_for(build.balm(is_small_package=True, **values))


def of_code(written: Label, code: str) -> Label:
    """The label of the same lot under another code."""
    lot = written.lot
    lot.code = code
    return label_for(lot)


def bare(text: str) -> str:
    return "".join(text.split())


PRINTERS = [(dpi, smooth) for dpi in (203, 300) for smooth in (True, False)]


def read_everywhere(pdf: bytes, page: int = 0) -> set[str]:
    """What the codes of a page say to every printer, with nothing on them or off the label."""
    letters = paper.words_mm(pdf, page)
    assert_apart(letters, letters, paper.page_sizes_mm(pdf)[page])
    said = []
    for dpi, smooth in PRINTERS:
        read = paper.codes_mm(paper.pictures(pdf, dpi, smooth=smooth)[page], dpi)
        assert_apart(read, letters, paper.page_sizes_mm(pdf)[page])
        said.append({text for text, _ in read})
    assert said == [said[0]] * len(PRINTERS)
    return said[0]


Things = list[tuple[str, paper.Box]]


def assert_apart(things: Things, letters: Things, size: tuple[float, float]) -> None:
    """Each stands on the label, and on no letter but its neighbours in a word."""
    width, height = size
    for place, (text, box) in enumerate(things):
        left, top, right, bottom = box
        assert min(left, top) > 3, text
        assert right < width - 3, text
        assert bottom < height - 3, text
        others = letters[place + 4 :] if things is letters else letters
        assert [other for other, at in others if paper.overlap(box, at)] == [], text


def words_missing(pdf: bytes, *wanted: str) -> list[str]:
    words = bare(paper.text(pdf))
    return [each for each in wanted if bare(each) not in words]


@pytest.mark.parametrize("names", [{}, LONG], ids=["short", "long"])
@pytest.mark.parametrize("gtin", ["", EAN])
def test_carton_of_any_lot_reads_back_with_all_its_words(names: dict[str, str], gtin: str) -> None:
    written = label(gtin=gtin, **names)
    for code in LOTS:
        written = of_code(written, code)

        pdf = case_labels.carton_pdf(written, per_carton=24, cartons=1)

        assert read_everywhere(pdf) == {code}
        assert (
            words_missing(
                pdf,
                written.name,
                f"24 × {written.net_contents}",
                written.lot_line,
                written.date_line,
                ", ".join(written.maker_lines),
                "Carton of 1",
            )
            == []
        )


@pytest.mark.parametrize("names", [{}, LONG], ids=["short", "long"])
def test_numbered_carton_of_any_lot_reads_back_with_all_its_words(names: dict[str, str]) -> None:
    written = label(gtin=EAN, **names)
    for at, code in enumerate(LOTS):
        written = of_code(written, code)
        number = sscc(PREFIX, 10**at % 999_999_999)

        pdf = case_labels.carton_pdf(written, per_carton=24, cartons=1, first_sscc=number)

        inside = f"(02)0{EAN}(15){written.lot.best_before:%y%m%d}(37)24(10){code}"
        assert {bare_code(text) for text in read_everywhere(pdf)} == {
            f"(00){number}",
            f"(00){number}{inside}",
        }
        assert (
            words_missing(
                pdf,
                written.name,
                f"24 × {written.net_contents}",
                written.lot_line,
                written.date_line,
                ", ".join(written.maker_lines),
                inside,
                number,
            )
            == []
        )


def bare_code(text: str) -> str:
    """The elements of a code that was read, as people read them."""
    return "".join(f"({ai}){value}" for ai, value in parse_element_string(text).items())


def numbered_lot(prefix: str = PREFIX, **values: Any) -> Lot:
    build.workshop(gs1_prefix=prefix)
    return build.balm(is_small_package=True, **{"gtin": EAN} | values)


def printed(lot: Lot, by: User, *, cartons_: int = 3, **order: Any) -> bytes:
    order.setdefault("token", "t")
    return print_cartons(lot, per_carton=12, cartons=cartons_, by=by, at=make.NOON, **order)


def numbers(pdf: bytes) -> list[str]:
    """The SSCC in the linear code of each page."""
    read = [paper.codes(page) for page in paper.pictures(pdf, 203)]
    return [text[-18:] for page in read for form, text in page if form == "Code 128"]


def test_carton_numbers_go_on_from_print_to_print_and_are_never_given_twice() -> None:
    packer, lot = make.user(Role.PACKER), numbered_lot()

    first = numbers(printed(lot, packer))
    again = numbers(printed(lot, packer))
    further = numbers(printed(lot, packer, token="u", cartons_=2, reason="wet"))

    assert first == again == following(sscc(PREFIX, 1), 3)
    assert further == following(sscc(PREFIX, 4), 2)
    assert [row.first_sscc for row in Print.objects.order_by("pk")] == [first[0], further[0]]


def test_carton_numbers_go_on_for_another_product() -> None:
    packer = make.user(Role.PACKER)
    printed(numbered_lot(), packer)
    other = build.balm(is_small_package=True, gtin="9521234543220")

    assert numbers(printed(other, packer, token="u")) == following(sscc(PREFIX, 4), 3)


def test_numbers_that_a_prefix_does_not_have_are_refused_and_nothing_is_noted() -> None:
    packer, lot = make.user(Role.PACKER), numbered_lot("952123454321")
    printed(lot, packer, cartons_=2000)
    for at in range(1, 4):
        Print.objects.create(
            lot=lot, kind="carton", count=2000, layout="carton", text="", at=make.NOON, by=packer,
            token=f"x{at}", first_sscc=sscc("952123454321", 1 + 2000 * at),
        )  # fmt: skip

    with pytest.raises(ActionRefused, match="All carton numbers under the GS1 company prefix"):
        printed(lot, packer, token="u", cartons_=2000, reason="more")
    assert Print.objects.count() == 4


@pytest.mark.parametrize(("prefix", "gtin"), [("", EAN), (PREFIX, ""), ("", "")])
def test_without_prefix_or_gtin_the_carton_carries_only_our_own_code(
    prefix: str, gtin: str
) -> None:
    packer, lot = make.user(Role.PACKER), numbered_lot(prefix, gtin=gtin)

    pdf = printed(lot, packer)

    assert [paper.codes(page) for page in paper.pictures(pdf, 203)] == [
        {("Code 128", lot.code)}
    ] * 3
    assert Print.objects.get().first_sscc == ""


@pytest.mark.parametrize("best_before", [True, False])
def test_every_element_string_of_the_product_is_legal(*, best_before: bool) -> None:
    written = label(gtin=EAN)
    if not best_before:
        written.lot.best_before = None
    held = element_string(barcode_data.carton_elements(written, 24, sscc(PREFIX, 1)))[0]

    strings = [barcode_data.element_text(written), barcode_data.numbered_elements(written, 7), held]

    assert [wrong_pairs(identifiers(text)) for text in strings] == [[], [], []]


def test_words_that_no_carton_label_holds_are_refused() -> None:
    written = label(gtin=EAN, label_name="Hand salve " * 10)
    big = replace(written, maker_lines=("Wren Hollow Works, Quay Lane " * 40,))

    with pytest.raises(ActionRefused, match="no room for all its words"):
        case_labels.carton_pdf(big, per_carton=12, cartons=1)


def test_scan_of_a_carton_number_finds_its_lot() -> None:
    packer, lot = make.user(Role.PACKER), numbered_lot()
    _, second, _ = numbers(printed(lot, packer))

    assert case_labels.lot_of_sscc(f"]C100{second}") == lot
    assert case_labels.lot_of_sscc(f"(00){sscc(PREFIX, 3)}") == lot
    assert case_labels.lot_of_sscc(f"(00){sscc(PREFIX, 4)}") is None
    assert case_labels.lot_of_sscc(lot.code) is None
