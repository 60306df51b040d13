"""Words written beside blocks that were laid out once."""

import pytest

from workshop.core.paper.mass_letters import STANDS_ALONE, Glyph, Sheets, Words, characters_of

# Every letter half as wide as it is high.
WORDS = Words({letter: Glyph("/F", f"{ord(letter):04x}", 500) for letter in "abcdefgh "})


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ("", []),
        ("abc", ["abc"]),
        ("abc  de", ["abc", "de"]),
        ("ab cd ef", ["ab cd", "ef"]),
        ("abcdefgh", ["abcde", "fgh"]),
        ("a bcdefgh c", ["a", "bcdef", "gh c"]),
    ],
)
def test_lines_break_between_words_and_inside_what_is_wider(text: str, lines: list[str]) -> None:
    five_letters_pt = 5 * 9.5 / 2

    assert list(WORDS.lines(text, five_letters_pt)) == lines


def test_line_is_drawn_by_the_codes_of_its_font() -> None:
    assert WORDS.written("ab", 10, 20, 8) == "BT 10.00 20.00 Td /F 8 Tf <00610062> Tj ET"


@pytest.mark.parametrize(
    ("text", "stands"),
    [
        ("Łódź & Søn 12", True),
        ("Ωμέγα", True),
        ("שלום", False),
        ("e\u0301", False),
        ("a\tb", False),
    ],
)
def test_only_letters_that_stand_alone_are_written_one_by_one(text: str, *, stands: bool) -> None:
    assert bool(STANDS_ALONE.fullmatch(text)) is stands


def test_letter_that_no_font_has_is_not_written() -> None:
    assert WORDS.can_write("abc")
    assert not WORDS.can_write("abx")


def test_characters_are_laid_out_apart() -> None:
    assert characters_of(["ba", "a c"]).replace(" ", "").startswith("012")
    assert " a b c " in characters_of(["ba", "a c"])


def test_new_page_begins_only_below_something() -> None:
    sheets = Sheets(None)  # type: ignore[arg-type]  # nothing is drawn
    sheets.turn()
    sheets.make_room(5000)
    assert len(sheets.pages) == 1
    sheets.down_pt += 1
    sheets.make_room(5000)
    assert len(sheets.pages) == 2
