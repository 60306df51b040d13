"""Papers set line by line: held against the same paper laid out by the rules of CSS."""

import io
import re
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pikepdf
import pypdfium2
import pytest
import zxingcpp
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from tests import make
from workshop.core.paper.barcodes import as_source, bars_in, code128
from workshop.core.paper.css_layout import laid_out
from workshop.core.paper.pdf import PAPER, pdf
from workshop.core.paper.typeset import CannotSet
from workshop.core.paper.typeset.chunks import Tag, Words
from workshop.core.paper.typeset.lines import Manner, lines_of, text_of
from workshop.core.paper.typeset.reading import read
from workshop.core.paper.typeset.records import set_pdf
from workshop.core.paper.typeset.tables import RIGHT_PT, shared_out, table

MM_PT = 72 / 25.4
A_HAIR_PT = 2.5  # kerning moves a word so far within its line, or a column's edge
A_ROUNDING_PT = 0.02
WIDE_PT = 180 * MM_PT
HEAD = (
    '<div class="unseen"><span class="running-code">K-1</span>'
    '<span class="running-about">Calendula salve</span></div>'
)
BARS = as_source(code128("K-1"))
ROW = "<tr><td>{0}</td><td class='num'>1 {0}00.5</td><td><s>wax</s> taken back</td></tr>"
TABLE = (
    "<div class='table-room'><table><caption>Of the kettle</caption>"
    "<thead><tr><th>Taken</th><th class='num'>Reading, g</th>"
    "<th>Remark</th></tr></thead><tbody>{}</tbody></table></div>"
)
RECORD = (
    f"{HEAD}<img class='bars' src=\"{BARS}\" alt='K-1'><h1>Batch record K-1</h1>"
    "<dl class='facts'><dt>State</dt><dd>poured</dd>"
    "<dt>Planned</dt><dd>1 000.0 g<br>in one</dd></dl>"
    "<h2>Method</h2><ol><li>Melt the wax.</li><li>Stir.</li></ol>"
    "<h2>Weighings</h2>"
    + TABLE.format("".join(ROW.format(n) for n in range(1, 4)))
    + "<div class='caution'><p>Lye burns.</p><p>Wear <b>goggles</b>.</p></div>"
    "<p class='quiet'>A seal is kept: <span class='digest'>c8fcbafdd72b40cb</span></p>"
    "<div class='sign'><div>made by</div><div>checked by</div><div>released by</div></div>"
)


def paper(body: str, *, classes: str = "record") -> str:
    return (
        f"<!DOCTYPE html><html lang='en'><head><title>Record K-1</title></head>"
        f"<body class='{classes}'>{body}</body></html>"
    )


def words_on(content: bytes) -> Iterator[tuple[int, str, float, float]]:
    """Every word with its page and where it begins, from the lower left."""
    for number, page in enumerate(pypdfium2.PdfDocument(io.BytesIO(content))):
        letters = page.get_textpage()
        for found in re.finditer(r"\S+", letters.get_text_range()):
            left, bottom, _, _ = letters.get_charbox(found.start())
            yield number, found[0], left, bottom


def test_words_stand_where_css_puts_them() -> None:
    """WeasyPrint, which lays papers out by CSS, is the reference."""
    html = paper(RECORD)
    ours, theirs = (
        # Each word's places from the top: rows are alike, and a list is set lower or higher.
        sorted((word, page, -y, x) for page, word, x, y in words_on(made))
        for made in (set_pdf(html), laid_out(html, PAPER))
    )

    assert [word for word, *_ in ours] == [word for word, *_ in theirs]
    moved = {
        own[0]
        for own, other in zip(ours, theirs, strict=True)
        if abs(own[3] - other[3]) > A_HAIR_PT
    }
    assert moved == {"1.", "2.", "Melt", "the", "wax.", "Stir."}  # a list begins further left


def test_top_of_a_record_is_as_high_as_css_has_it() -> None:
    html = paper(RECORD.partition("<h2>")[0])
    ours, theirs = (list(words_on(made)) for made in (set_pdf(html), laid_out(html, PAPER)))

    assert [word for _, word, _, _ in ours] == [word for _, word, _, _ in theirs]
    assert [y for *_, y in ours] == pytest.approx([y for *_, y in theirs], abs=A_HAIR_PT)


def test_code_of_a_record_is_read_by_a_scanner_where_css_puts_it() -> None:
    """WeasyPrint draws the picture, zxing-cpp reads both."""
    html, dots_per_pt = paper(RECORD.partition("<h2>")[0]), 300 / 72
    found = []
    for made in (set_pdf(html), laid_out(html, PAPER)):
        page = pypdfium2.PdfDocument(io.BytesIO(made))[0]
        (code,) = zxingcpp.read_barcodes(page.render(scale=dots_per_pt, grayscale=True).to_pil())
        corners = code.position.top_left, code.position.bottom_right
        places = [where / dots_per_pt for one in corners for where in (one.x, one.y)]
        found.append((str(code.format), code.text, places))

    assert found[0][:2] == found[1][:2] == ("Code 128", "K-1")
    across, down = ([places[side::2] for *_, places in found] for side in (0, 1))
    assert across[0] == pytest.approx(across[1], abs=1)
    assert down[0] == pytest.approx(down[1], abs=8)  # which row it reads is its own affair


def test_other_pictures_are_none_of_our_codes() -> None:
    assert bars_in("data:image/png;base64,AAAA") is None
    assert bars_in(as_source("<svg><path d='M0 0h2'/></svg>")) is None


def test_long_table_says_its_head_on_every_page_and_each_page_its_number() -> None:
    html = paper(HEAD + TABLE.format("".join(ROW.format(n) for n in range(100, 220))))
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(set_pdf(html))).pages]

    assert len(pages) > 2
    for number, text in enumerate(pages, start=1):
        assert "Reading, g" in text
        assert f"page {number} of {len(pages)}" in text
        assert "K-1" in text
        assert "Calendula salve" in text
    rows = [row for text in pages for row in re.findall(r"1 (\d{3})00\.5", text)]
    assert [int(row) for row in rows] == list(range(100, 220))


def test_steps_keep_the_numbers_that_they_have() -> None:
    steps = "<ol><li>Melt.</li><li value='5'>Stir.</li><li>Pour.</li></ol>"
    (page,) = PdfReader(io.BytesIO(set_pdf(paper(steps)))).pages

    assert re.findall(r"\d\.", page.extract_text()) == ["1.", "5.", "6."]


def test_heading_is_not_left_alone_at_the_foot_of_a_page() -> None:
    lines = "".join(f"<p>line {number}</p>" for number in range(60))
    for many in range(28, 50):
        body = "".join(lines.partition(f"<p>line {many}<")[0])
        content = set_pdf(paper(f"{HEAD}{body}<h2>Weighings</h2>{TABLE.format(ROW.format(7))}"))
        texts = [page.extract_text() for page in PdfReader(io.BytesIO(content)).pages]
        (alone,) = [text for text in texts if "Weighings" in text]
        assert "1 700.5" in alone


def kinds(element: Any) -> Any:
    """What stands in what, by the names of PDF (ISO 32000-1, 14.8.4)."""
    inside = [kinds(one) for one in element.K if isinstance(one, pikepdf.Dictionary)]
    return [str(element.S)[1:], *inside] if inside else str(element.S)[1:]


def test_record_can_be_heard_in_its_order() -> None:
    row = ROW.format(1)
    html = paper(f"<img class='bars' src=\"{BARS}\" alt='K-1'><h1>Record</h1>{TABLE.format(row)}")
    with pikepdf.open(io.BytesIO(set_pdf(html))) as made:
        assert made.Root.MarkInfo.Marked
        assert str(made.Root.Lang) == "en"
        (figure, *_) = made.Root.StructTreeRoot.K.K
        assert str(figure.Alt) == "K-1"
        head = ["THead", ["TR", "TH", "TH", "TH"]]
        body = ["TBody", ["TR", "TD", "TD", "TD"]]
        assert kinds(made.Root.StructTreeRoot.K) == [
            "Document",
            "Figure",
            "H1",
            ["Table", "Caption", head, body],
        ]
        assert not made.check_pdf_syntax()
        with made.open_outline() as outline:
            assert [item.title for item in outline.root] == ["Record"]


def test_everything_read_on_a_page_is_found_from_it() -> None:
    html = paper(HEAD + TABLE.format("".join(ROW.format(n) for n in range(100, 220))))
    with pikepdf.open(io.BytesIO(set_pdf(html))) as made:
        numbers = made.Root.StructTreeRoot.ParentTree.Nums
        for page in made.pages:
            marked = re.findall(rb"/MCID (\d+)", page.Contents.read_bytes())
            assert len(numbers[2 * page.index + 1]) == len(marked)
            assert [int(mark) for mark in marked] == list(range(len(marked)))


@pytest.mark.parametrize(
    "body",
    [
        "<p>שלום</p>",
        "<p>e\u0301</p>",
        "<p>\U0001f9fc</p>",
        "<form>x</form>",
        "<p><i>x</i></p>",
        "<dl class='facts'><dt>Made</dt><dd>x</dd><dd>y</dd></dl>",
        "<ul><p>x</p></ul>",
        "<table><colgroup></colgroup><tr><td>x</td></tr></table>",
        "<table><tr><td rowspan='2'>x</td></tr></table>",
    ],
    ids=[
        "script from the right",
        "combining mark",
        "picture of soap",
        "form",
        "italic",
        "two facts of a name",
        "paragraph in a list",
        "column group",
        "cell over rows",
    ],
)
def test_what_cannot_be_set_is_laid_out_by_css(body: str) -> None:
    with pytest.raises(CannotSet):
        set_pdf(paper(body))


def test_row_higher_than_a_page_is_laid_out_by_css() -> None:
    tall = TABLE.format(f"<tr><td>{'wax<br>' * 90}</td><td>x</td><td>y</td></tr>")
    with pytest.raises(CannotSet):
        set_pdf(paper(tall))


def test_letter_paper_and_paper_across_have_their_sizes() -> None:
    for classes, size in (("", (595, 842)), ("letter", (612, 792)), ("across", (842, 595))):
        (page,) = PdfReader(io.BytesIO(set_pdf(paper("<p>x</p>", classes=classes)))).pages
        assert (round(page.mediabox.width), round(page.mediabox.height)) == size


def inside(html: str) -> Any:
    return read(html)[0].inside


@pytest.mark.parametrize(
    ("html", "lines"),
    [
        ("wax and oil", ["wax and", "oil"]),
        ("<span class='nowrap'>wax and oil</span>", ["wax and o", "il"]),
        ("a <span class='code'>12 34</span>", ["a 12 34"]),
        ("<span class='code'>wax</span> <span class='code'>and oil</span>", ["wax", "and oil"]),
        ("wax<br>oil", ["wax", "oil"]),
        ("<p>wax</p><p>oil</p>", ["wax", "oil"]),
        ("wax\u00a0and oil", ["wax\u00a0and", "oil"]),
        ("  wax  <b> oil</b>", ["wax oil"]),
        ("<b>w</b>ax<b>oil</b>", ["waxoil"]),
        ("", []),
    ],
)
def test_lines_break_where_css_breaks_them(html: str, lines: list[str]) -> None:
    text = text_of(inside(html), Manner())
    broken = lines_of(text, 41)

    assert ["".join(piece.text for piece in line.pieces) for line in broken] == lines


CELLS = st.text("Wi ", min_size=0, max_size=80)


@given(st.lists(st.lists(CELLS, min_size=3, max_size=3), min_size=1, max_size=4))
def test_no_words_however_long_leave_their_column(rows: list[list[str]]) -> None:
    """A column is as wide as its part of the paper, and no line is wider than its column."""
    html = "".join(f"<tr>{''.join(f'<td>{cell}</td>' for cell in row)}</tr>" for row in rows)
    (element,) = read(f"<table>{html}</table>")[0].elements
    for chunk in table(element, WIDE_PT, Manner(), Tag("Document")):
        words = [mark for mark in chunk.marks if isinstance(mark, Words)]
        for mark in words:
            end = min((one.x_pt for one in words if one.x_pt > mark.x_pt), default=WIDE_PT)
            assert mark.x_pt + mark.line.width_pt <= end - RIGHT_PT + A_ROUNDING_PT


@pytest.mark.parametrize(
    ("least", "most", "width", "shared"),
    [
        ([10, 10], [10, 30], 80, [20, 60]),
        ([10, 20], [20, 60], 50, [14, 36]),
        ([60, 40], [90, 90], 50, [30, 20]),
    ],
    ids=["room for all", "room for the words", "no room"],
)
def test_columns_share_the_width(
    least: list[float], most: list[float], width: float, shared: list[float]
) -> None:
    """Common practice, no source: CSS leaves the sharing out of a table's width open (CSS 2.2,
    17.5.2.2, from memory)."""
    assert shared_out(least, most, width) == pytest.approx(shared)


def test_paper_with_letters_that_join_is_made_all_the_same() -> None:
    sent = {"customer": "שלום", "sent_on": make.DAY}
    context = {"dispatch": sent, "lines": [], "total": {"sent": Decimal(0)}}
    content = pdf("dispatch/print/packing_slip.html", context)

    assert "Packing slip" in PdfReader(io.BytesIO(content)).pages[0].extract_text()


@pytest.mark.parametrize("way", [set_pdf, lambda html: laid_out(html, PAPER)])
def test_title_stands_on_a_rule_that_is_true_to_the_millimetre(way: Any) -> None:
    """180 of them on A4, between the margins: whoever measures it knows whether it was scaled."""
    content = way(paper("<h1>Batch record K-1</h1><p>Calendula salve</p>"))
    per_mm = 20
    page = pypdfium2.PdfDocument(io.BytesIO(content))[0]
    seen = page.render(scale=per_mm / MM_PT, grayscale=True).to_pil()
    rows = [_dark_runs(seen, row) for row in range(20 * per_mm, 30 * per_mm)]
    at_ticks = [runs for runs in rows if len(runs) > 150]

    assert at_ticks, "no row of ticks"
    ticks = at_ticks[-1]
    assert len(ticks) in (180, 181)  # the last one may stand at the very end
    for number, place in enumerate(ticks[:180]):
        assert abs(place - (15 + number) * per_mm) <= 3, number  # within 0.15 mm


def _dark_runs(picture: Any, row: int) -> list[int]:
    """Where dark begins in a row of dots."""
    dots = [picture.getpixel((x, row)) < 160 for x in range(picture.width)]
    return [x for x in range(1, len(dots)) if dots[x] and not dots[x - 1]]
