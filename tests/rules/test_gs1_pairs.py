"""Pairs of identifiers: the product refuses exactly what the standard does."""

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.rules.gs1_rules import REQ, wrong_pairs
from workshop.rules.codes.gs1 import ELEMENTS
from workshop.rules.codes.gs1_pairs import refuse_wrong_company
from workshop.rules.codes.sscc import check_company_prefix, following, serial_of, sscc
from workshop.rules.errors import RuleError

SOME = ["00", "01", "02", "10", "15", "21", "30", "37", "3103"]


def is_refused(ais: list[str]) -> bool:
    try:
        refuse_wrong_company(ais)
    except RuleError:
        return True
    return False


@pytest.mark.parametrize(
    ("ais", "refused"),
    [
        (["01", "15", "10"], False),
        (["00", "02", "15", "37", "10"], False),
        (["00"], False),
        # The count of a carton, without the carton's own number.
        (["02", "15", "37", "10"], True),
        (["00", "37"], True),
        (["10"], True),
        (["00", "10"], True),
        (["01", "37"], True),
        (["02", "21", "37", "00"], True),
    ],
)
def test_pairs_follow_the_general_specifications(ais: list[str], refused: bool) -> None:  # noqa: FBT001 -- a column of the table
    assert is_refused(ais) == refused
    assert bool(wrong_pairs(ais)) == refused


@pytest.mark.parametrize(
    ("ais", "sentence"),
    # GS1 General Specifications, 4.14; an element stands once, whatever its decimals.
    [
        ([], "A GS1 code needs at least one element."),
        (["10", "10", "01"], "A GS1 code may hold each element only once."),
        (["01", "3102", "3103"], "A GS1 code may hold each element only once."),
        (["01", "02"], "Element (01) does not stand beside (02)."),
        (["01", "37"], "Element (01) does not stand beside (37)."),
        (["21"], "Element (21) stands only beside (01)."),
        (["10"], "Element (10) stands only beside (01) or (02)."),
        (["3102"], "Element (3102) stands only beside (01) or (02)."),
        (["02"], "Element (02) stands only beside (37)."),
        (["00", "37"], "Element (37) stands only beside (00) and (02)."),
    ],
)
def test_refusal_says_which_element_and_beside_what(ais: list[str], sentence: str) -> None:
    with pytest.raises(RuleError) as refused:
        refuse_wrong_company(ais)
    assert str(refused.value) == sentence


def test_weights_in_both_units_may_stand_together() -> None:
    assert not is_refused(["01", "3102", "3202"])


def test_every_mix_of_up_to_four_is_refused_just_when_the_dictionary_forbids_it() -> None:
    mixes = [list(mix) for size in range(1, 5) for mix in combinations(SOME, size)]

    assert [mix for mix in mixes if is_refused(mix) != bool(wrong_pairs(mix))] == []


@given(st.lists(st.sampled_from(sorted(ELEMENTS)), min_size=1, max_size=7, unique=True))
def test_any_mix_is_judged_as_the_dictionary_judges_it(ais: list[str]) -> None:
    assert is_refused(ais) == bool(wrong_pairs(ais))


def test_every_identifier_that_asks_for_company_is_in_the_table() -> None:
    alone = {ai for ai in ELEMENTS if not is_refused([ai])}

    assert alone == {ai for ai in ELEMENTS if ai not in REQ and ai[:3] not in ("310", "320")}


def test_sscc_has_the_check_digit_of_the_standards_example() -> None:
    # Source: check routine tests of the GS1 Barcode Syntax Dictionary: 123456789012345675.
    assert following("123456789012345675", 1) == ["123456789012345675"]


@given(st.from_regex(r"[0-9]{4,12}", fullmatch=True), st.integers(0, 9_990))
def test_numbers_follow_each_other_and_are_read_back(prefix: str, serial: int) -> None:
    numbers = following(sscc(prefix, serial), 10)

    assert numbers == [sscc(prefix, serial + step) for step in range(10)]
    assert [serial_of(prefix, number) for number in numbers] == list(range(serial, serial + 10))
    assert {len(number) for number in numbers} == {18}


def test_no_number_is_made_beyond_the_last_of_a_prefix() -> None:
    assert serial_of("952123454321", sscc("952123454321", 9999)) == 9999
    with pytest.raises(RuleError, match="All carton numbers"):
        sscc("952123454321", 10_000)


@pytest.mark.parametrize("text", ["", "952", "9521234567890", "95a1234", "-"])
def test_company_prefix_out_of_form_is_refused(text: str) -> None:
    with pytest.raises(RuleError, match="4 to 12 digits"):
        check_company_prefix(text)
