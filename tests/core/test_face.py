"""The look, as far as it can be reckoned: contrast of its colours, weight of its typefaces."""

import re
from pathlib import Path

import pytest
from django.conf import settings
from django.template import Context, Template
from fontTools.ttLib import TTFont

from workshop.core.paper.typefaces import FACES, make_web_fonts
from workshop.core.templatetags.tarebook import KINDS, SHAPES

CSS = Path(settings.BASE_DIR) / "static/css"
SHEET = (CSS / "tarebook.css").read_text("utf-8")
KETTLE_SHEET = (CSS / "kettle.css").read_text("utf-8")
TEXTS = ["ink", "quiet", "main", "deep", "mind", "wait", "good", "stop", "way"]
PAPERS = ["ground", "sheet"]
WASHED = [("wait", "wait-wash"), ("stop", "stop-wash"), ("way", "way-wash"), ("good", "good-wash")]


def colours(block: str) -> dict[str, str]:
    return dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6})", block))


LIGHT = colours(SHEET.partition("@media")[0])
DARK = LIGHT | colours(SHEET.partition("prefers-color-scheme: dark")[2].partition("*, ::before")[0])
AT_KETTLE = LIGHT | colours((CSS / "kettle.css").read_text("utf-8").partition(".stove {")[0])


def luminance(colour: str) -> float:
    """Relative luminance. Source: WCAG 2.2, definition of relative luminance."""
    parts = (int(colour[start : start + 2], 16) / 255 for start in (1, 3, 5))
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Source: WCAG 2.2, definition of contrast ratio."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_black_on_white_is_21_to_1() -> None:
    assert contrast("#000000", "#ffffff") == 21
    assert round(contrast("#777777", "#ffffff"), 2) == 4.48  # just short of AA, as is well known


@pytest.mark.parametrize("scheme", [LIGHT, DARK], ids=["light", "dark"])
def test_every_text_stands_out_from_its_paper(scheme: dict[str, str]) -> None:
    """Source: WCAG 2.2, 1.4.3 (AA): 4.5 to 1."""
    pairs = [(text, paper) for text in TEXTS for paper in PAPERS] + WASHED
    pairs += [("on-main", "main"), ("on-main", "deep"), ("ink", "wash"), ("quiet", "wash")]
    pairs += [("ink", "stop-wash"), ("ink", "mind-wash"), ("mind", "mind-wash")]
    faint = [pair for pair in pairs if contrast(scheme[pair[0]], scheme[pair[1]]) < 4.5]

    assert faint == []


@pytest.mark.parametrize("scheme", [LIGHT, DARK], ids=["light", "dark"])
def test_edges_that_carry_meaning_are_seen(scheme: dict[str, str]) -> None:
    """Source: WCAG 2.2, 1.4.11 (AA): 3 to 1."""
    assert [paper for paper in PAPERS if contrast(scheme["edge"], scheme[paper]) < 3] == []


@pytest.mark.parametrize("scheme", [AT_KETTLE, DARK], ids=["light", "dark"])
def test_at_the_kettle_every_text_stands_out_as_7_to_1(scheme: dict[str, str]) -> None:
    """Source: WCAG 2.2, 1.4.6 (AAA)."""
    assert [text for text in TEXTS if contrast(scheme[text], scheme["ground"]) < 7] == []


def test_window_and_the_line_at_hand_stand_out_as_7_to_1() -> None:
    """Source: WCAG 2.2, 1.4.6 (AAA)."""
    light, dark = (
        colours(block) for block in re.findall(r":root \{([^}]*--window[^}]*)\}", KETTLE_SHEET)
    )
    for own, scheme in ((light, AT_KETTLE), (light | dark, DARK)):
        assert contrast(own["read"], own["window"]) >= 7
        assert contrast(scheme["ink"], own["here"]) >= 7


def test_each_kind_of_state_has_a_shape_of_its_own() -> None:
    assert set(KINDS) < set(SHAPES)
    assert len(set(SHAPES.values())) == len(SHAPES)


def test_typefaces_are_light_and_their_figures_of_one_width(tmp_path: Path) -> None:
    made = make_web_fonts(tmp_path)

    assert sum(path.stat().st_size for path in made) < 60_000
    for path in made:
        with TTFont(path) as font:
            names = font.getBestCmap()
            widths = {font["hmtx"][names[ord(figure)]][0] for figure in "0123456789"}
            assert len(widths) == 1
            assert {ord(sign) for sign in "Äßçœł–−×≤₂°µ½"} <= set(names)
    assert {path.name for path in tmp_path.glob("*licence*")} == {
        "sans-licence.txt",
        "serif-licence.txt",
    }


def test_style_sheet_names_the_faces_that_are_made() -> None:
    named = set(re.findall(r"type/([a-z0-9-]+)\.woff2", SHEET))

    assert named == {face.name for face in FACES}


def test_what_else_may_be_done_is_folded_away_by_the_browser_itself() -> None:
    folded = '{% load tarebook %}{% more %} <a class="btn" href="/x/">{{ word }}</a>{% endmore %}'
    empty = "{% load tarebook %}{% more %} {% if word == 1 %}x{% endif %} {% endmore %}"

    shown = Template(folded).render(Context({"word": "Hold <b>"}))

    assert shown.startswith('<details class="others"><summary class="btn">More</summary>')
    assert "Hold &lt;b&gt;</a>" in shown
    assert Template(empty).render(Context({"word": 2})) == ""


def test_nothing_moves_of_itself() -> None:
    """So there is nothing to still for who asked for less motion (WCAG 2.2, 2.2.2 and 2.3.3)."""
    sheets = {path.name: path.read_text("utf-8") for path in CSS.glob("*.css")}
    moving = re.compile(r"\b(transition|animation|scroll-behavior)\b|@keyframes")

    assert sheets
    assert [name for name, text in sheets.items() if moving.search(text)] == []


@pytest.mark.parametrize("typed", ["Rancid", "Rancid.", "Rancid. "])
def test_typed_reason_in_a_sentence_ends_with_one_stop(typed: str) -> None:
    """Common practice, no source."""
    shown = Template("{% load tarebook %}Held: {{ reason|without_stop }}.")

    assert shown.render(Context({"reason": typed})) == "Held: Rancid."
