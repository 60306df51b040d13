"""Lot codes: the check character of ISO/IEC 7064 and the search for a misread code."""

from random import Random

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_37_36

from workshop.rules.codes.lot_codes import (
    ISO_ALPHABET,
    LOT_ALPHABET,
    NEAR_MISS_LIMIT,
    check_character,
    is_lot_code,
    make_lot_code,
    near_misses,
    normalise_code,
    show_lot_code,
)
from workshop.rules.errors import RuleError

randoms = st.randoms(use_true_random=False)
lot_codes = randoms.map(lambda random: make_lot_code(random.randrange))
places = st.integers(0, 6)


def test_check_character_matches_the_standards_own_example() -> None:
    # ISO/IEC 7064 MOD 37,36 as used by the Global Release Identifier: A1-2425G-ABC1234002-M.
    assert check_character("A12425GABC1234002") == "M"


@given(st.text(ISO_ALPHABET, min_size=1, max_size=20))
def test_check_character_agrees_with_python_stdnum(payload: str) -> None:
    assert check_character(payload) == mod_37_36.calc_check_digit(payload)


@pytest.mark.parametrize("payload", ["", "abc", "AB C", "Ä", "٣"])
def test_check_character_refuses_what_is_not_a_code(payload: str) -> None:
    with pytest.raises(RuleError, match="digits 0 to 9 and the letters A to Z"):
        check_character(payload)


def test_lot_alphabet_has_no_character_that_is_easily_misread() -> None:
    assert sorted(set(ISO_ALPHABET) - set(LOT_ALPHABET)) == ["0", "1", "I", "L", "O", "U"]


@given(randoms)
def test_lot_code_is_unambiguous_and_passes_the_standard_check(random: Random) -> None:
    code = make_lot_code(random.randrange)

    assert len(code) == 7
    assert set(code) <= set(LOT_ALPHABET)
    assert mod_37_36.is_valid(code)


def test_lot_code_is_drawn_again_when_its_check_character_is_ambiguous() -> None:
    assert check_character("7HW4Q2") == "1"
    draws = iter([LOT_ALPHABET.index(character) for character in "7HW4Q2" + "ABCDEF"])

    assert make_lot_code(lambda _: next(draws)) == "ABCDEFC"


@given(lot_codes, places, st.sampled_from(LOT_ALPHABET))
def test_lot_code_with_one_wrong_character_is_refused(code: str, place: int, other: str) -> None:
    assume(other != code[place])

    assert not is_lot_code(code[:place] + other + code[place + 1 :])


@pytest.mark.parametrize("text", ["abcdefc", " ABCD-EFC ", "ABCD\u2011EFC", "abcd efc", "A.BCDEFC"])
def test_lot_code_is_known_however_it_is_spaced(text: str) -> None:
    assert is_lot_code(text)
    assert normalise_code(text) == "ABCDEFC"


@pytest.mark.parametrize(
    "text", ["", "ABCDEF", "ABCDEFCC", "ABCDEFD", "A0CDEFC", "ßßßßßßß", "٣" * 7]
)
def test_lot_code_is_not_seen_in_other_text(text: str) -> None:
    assert not is_lot_code(text)


def test_lot_code_is_shown_as_four_and_three() -> None:
    assert show_lot_code("ABCDEFC") == "ABCD-EFC"
    assert show_lot_code("SUP-1") == "SUP-1"


@given(lot_codes)
def test_near_misses_of_a_right_code_do_not_hold_it(code: str) -> None:
    assert code not in near_misses(code)


@given(lot_codes, places, st.sampled_from(ISO_ALPHABET + "?/Ä"))
def test_near_misses_find_a_code_with_one_wrong_character(
    code: str, place: int, other: str
) -> None:
    assume(other != code[place])

    assert code in near_misses(code[:place] + other + code[place + 1 :])


@given(lot_codes, st.integers(0, 5))
def test_near_misses_find_a_code_with_two_neighbours_swapped(code: str, place: int) -> None:
    assume(code[place] != code[place + 1])

    assert code in near_misses(code[:place] + code[place + 1] + code[place] + code[place + 2 :])


@given(lot_codes, places)
def test_near_misses_find_a_code_with_a_character_left_out(code: str, place: int) -> None:
    assert code in near_misses(code[:place] + code[place + 1 :])


@given(lot_codes, st.integers(0, 7), st.sampled_from(ISO_ALPHABET))
def test_near_misses_find_a_code_with_a_character_too_many(
    code: str, place: int, other: str
) -> None:
    assert code in near_misses(code[:place] + other + code[place:])


def test_near_misses_unfold_several_look_alikes_and_put_them_first() -> None:
    code = "Q2Z8S7E"
    assert is_lot_code(code)

    assert near_misses("0ZZBS7E")[0] == code


@pytest.mark.parametrize("text", ["", "7", "ABCD", "ABCDEFCCC", "a very long line of text", "%"])
def test_near_misses_are_not_sought_for_a_text_of_another_length(text: str) -> None:
    assert near_misses(text) == []


@given(st.text(ISO_ALPHABET, min_size=6, max_size=8))
def test_near_misses_are_few_valid_and_all_different(text: str) -> None:
    found = near_misses(text)

    assert len(found) <= NEAR_MISS_LIMIT
    assert len(found) == len(set(found))
    assert all(is_lot_code(code) for code in found)


@pytest.mark.parametrize("text", ["GGGGGGG", "2222222", "0000000", "OQDOQDO", "GGGGGG", "BBBBBBBB"])
def test_near_misses_stay_below_the_limit_where_most_look_alikes_meet(text: str) -> None:
    assert len(near_misses(text)) < NEAR_MISS_LIMIT
