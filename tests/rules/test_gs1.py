"""GS1 numbers and element strings, against the standard's own examples."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum import ean

from workshop.rules.codes.gs1 import (
    ELEMENTS,
    check_gtin,
    digital_link,
    element_string,
    gs1_day,
    gtin14,
    gtin_and_lot,
    gtin_check_digit,
    net_weight_element,
    parse_element_string,
    strip_symbology,
)
from workshop.rules.errors import RuleError

GTIN = "09521234543213"
SSCC = "123456789012345675"

# Source: check routine tests of the GS1 Barcode Syntax Dictionary (lint_csum).
VALID = ["02345673", "416000336108", "1234567890128", "12345678901231"]
INVALID = ["12345673", "416000336109", "1234567890129", "12345678901232"]


@pytest.mark.parametrize("number", [*VALID, SSCC])
def test_check_digit_matches_the_gs1_examples(number: str) -> None:
    assert gtin_check_digit(number[:-1]) == number[-1]


@given(st.text("0123456789", min_size=7, max_size=13))
def test_check_digit_agrees_with_python_stdnum(body: str) -> None:
    assert gtin_check_digit(body) == ean.calc_check_digit(body)


@pytest.mark.parametrize("number", VALID)
def test_gtin_of_each_length_is_accepted(number: str) -> None:
    assert check_gtin(f" {number[:4]} {number[4:]} ") == number


@pytest.mark.parametrize("number", INVALID)
def test_gtin_with_a_wrong_check_digit_is_refused(number: str) -> None:
    with pytest.raises(RuleError, match=f"last digit of GTIN {number} does not fit"):
        check_gtin(number)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "A GTIN has only digits; type the number under the bar code."),
        ("12A", "A GTIN has only digits; type the number under the bar code."),
        ("٣٣٣٣٣٣٣٣", "A GTIN has only digits; type the number under the bar code."),
        ("123456789", "A GTIN has 8, 12, 13 or 14 digits, and this one has 9."),
    ],
)
def test_gtin_out_of_form_is_refused_with_a_sentence(text: str, sentence: str) -> None:
    with pytest.raises(RuleError) as caught:
        check_gtin(text)
    assert str(caught.value) == sentence


def test_gtin14_of_the_same_product_is_the_same_for_every_length() -> None:
    assert gtin14("9521234543213") == gtin14(GTIN) == GTIN


# Source: date tests of the GS1 Barcode Syntax Dictionary (lint_yymmd0).
@pytest.mark.parametrize(
    ("value", "day"),
    [
        ("200229", date(2020, 2, 29)),
        ("240229", date(2024, 2, 29)),
        ("000229", date(2000, 2, 29)),
        ("270200", date(2027, 2, 28)),
        ("280200", date(2028, 2, 29)),
    ],
)
def test_date_in_a_code_is_read(value: str, day: date) -> None:
    assert gs1_day(value) == day


@pytest.mark.parametrize(
    "value",
    ["200230", "210229", "270001", "271301", "279901", "270132", "27013", "2701311", "27x1"],
)
def test_date_in_a_code_that_does_not_exist_is_refused(value: str) -> None:
    with pytest.raises(RuleError):
        gs1_day(value)


@pytest.mark.parametrize(
    ("parts", "human", "data"),
    [
        (
            [("01", "9521234543213"), ("15", date(2027, 12, 31)), ("10", "LB-0423")],
            "(01)09521234543213(15)271231(10)LB-0423",
            "01095212345432131527123110LB-0423",
        ),
        (
            [("01", GTIN), ("10", "LB-0423"), ("15", "271231")],
            "(01)09521234543213(10)LB-0423(15)271231",
            "010952123454321310LB-0423\x1d15271231",
        ),
        (
            [("00", SSCC), ("02", GTIN), ("37", "48"), ("10", "LB")],
            f"(00){SSCC}(02){GTIN}(37)48(10)LB",
            f"00{SSCC}02{GTIN}3748\x1d10LB",
        ),
        (
            [("01", GTIN), net_weight_element(Decimal("1250"))],
            "(01)09521234543213(3103)001250",
            "01095212345432133103001250",
        ),
    ],
)
def test_element_string_separates_only_where_the_standard_says(
    parts: list[tuple[str, str | date]], human: str, data: str
) -> None:
    assert element_string(parts) == (human, data)


@pytest.mark.parametrize(
    "parts",
    [
        [("01", GTIN), ("10", "L" * 21)],
        [("01", GTIN), ("10", "")],
        [("01", GTIN), ("10", "L B")],
        [("01", GTIN), ("10", "Ä")],
        [("01", GTIN), ("15", "270230")],
        [("01", GTIN), ("37", "4")],
        [("01", GTIN), ("01", GTIN)],
        [("01", GTIN), ("3103", "001250"), ("3102", "000125")],
        [("01", GTIN), ("3103", "1250")],
        [("01", GTIN), ("9", "1")],
        [("01", "9521234543214")],
        [],
    ],
)
def test_element_string_out_of_form_is_refused(parts: list[tuple[str, str | date]]) -> None:
    with pytest.raises(RuleError):
        element_string(parts)


def test_lot_of_twenty_characters_is_accepted() -> None:
    assert element_string([("01", GTIN), ("10", "L" * 20)])[1].endswith("L" * 20)


@pytest.mark.parametrize(
    ("grams", "element"),
    [
        ("1250", ("3103", "001250")),
        ("12500", ("3103", "012500")),
        ("0.01", ("3105", "000001")),
        ("62.4", ("3104", "000624")),
        ("5000000", ("3102", "500000")),
    ],
)
def test_net_weight_is_written_in_kilograms(grams: str, element: tuple[str, str]) -> None:
    assert net_weight_element(Decimal(grams)) == element


@pytest.mark.parametrize("grams", ["0", "-1", "0.001", "1e12", "1234567.8", "NaN", "Infinity"])
def test_net_weight_that_a_code_cannot_say_is_refused(grams: str) -> None:
    with pytest.raises(RuleError):
        net_weight_element(Decimal(grams))


ALL = {"01": GTIN, "10": "LB-0423", "15": "271231"}


@pytest.mark.parametrize("mark", ["", "]C1", "]d2", "]Q3", "]e0", " ]C1"])
@pytest.mark.parametrize(
    "data",
    [
        "010952123454321310LB-0423\x1d15271231",
        "\x1d01095212345432131527123110LB-0423\x1d",
        "(01)09521234543213(10)LB-0423(15)271231",
        "(01) 09521234543213 (10) LB-0423 (15) 271231",
        "https://example.org/01/09521234543213/10/LB-0423?15=271231",
        "https://example.org/shop/01/9521234543213/10/LB-0423?15=271231&utm=x",
        "/01/09521234543213/10/LB%2D0423?15=271231",
    ],
)
def test_every_form_of_a_code_reads_the_same(mark: str, data: str) -> None:
    assert parse_element_string(mark + data) == ALL


@pytest.mark.parametrize(
    "data",
    [
        "",
        "]C1",
        "calendula",
        "()",
        "(01)",
        "(10)",
        "01095212345",
        "0109521234543214",
        "010952123454321315270230",
        "https://example.org/",
        "https://example.org/01/",
        "https://[bad/01/09521234543213",
        "https://example.org/01/09521234543213/21/7/10/LB",
        "(01)09521234543213(01)19521234543210",
        "8888",
        "\x1d",
    ],
)
def test_text_that_is_no_right_code_is_refused(data: str) -> None:
    with pytest.raises(RuleError):
        parse_element_string(data)


def test_link_cut_off_after_a_key_still_gives_what_stands_before_it() -> None:
    assert parse_element_string("https://example.org/01/09521234543213/10") == {"01": GTIN}


@given(st.text(max_size=60))
def test_any_text_is_read_or_refused_and_never_fails_otherwise(text: str) -> None:
    gtin_and_lot(text)
    for attempt in (text, "(01)" + text, "https://a/01/" + text, "]C1" + text):
        try:
            parse_element_string(attempt)
        except RuleError:
            continue


lot_texts = st.text("ABCabc019-/.+_%(", min_size=1, max_size=20)


@given(
    lot_texts, st.dates(date(2000, 1, 1), date(2099, 12, 31)), st.permutations(["10", "15", "01"])
)
def test_element_string_is_read_back_whatever_the_order(
    lot: str, day: date, order: list[str]
) -> None:
    values: dict[str, str | date] = {"01": GTIN, "10": lot, "15": day}
    parts = [(ai, values[ai]) for ai in order]
    human, data = element_string(parts)
    wanted = {"01": GTIN, "10": lot, "15": f"{day:%y%m%d}"}

    assert parse_element_string(data) == wanted
    assert parse_element_string(digital_link("https://example.org", parts)) == wanted
    if "(" not in lot:
        assert parse_element_string(human) == wanted


def test_digital_link_keeps_the_order_of_the_standard() -> None:
    parts: list[tuple[str, str | date]] = [("15", "271231"), ("21", "7"), ("10", "LB-0423")]

    assert digital_link("https://example.org/", [*parts, ("01", GTIN)]) == (
        "https://example.org/01/09521234543213/10/LB-0423/21/7?15=271231"
    )


def test_digital_link_needs_a_gtin() -> None:
    with pytest.raises(RuleError, match="needs the product's GTIN"):
        digital_link("https://example.org", [("00", SSCC), ("02", GTIN), ("37", "4")])


def test_gtin_and_lot_are_found_in_a_bare_gtin_and_in_a_carton_code() -> None:
    assert gtin_and_lot("]E09521234543213") == (GTIN, None)
    assert gtin_and_lot("(02)09521234543213(37)48(10)LB") == (GTIN, "LB")
    assert gtin_and_lot("10234") is None


def test_scanner_mark_is_taken_off_only_where_there_is_one() -> None:
    assert strip_symbology("]C0ABCDEFC\r\n") == "ABCDEFC"
    assert strip_symbology("[x]") == "[x]"


def test_table_knows_every_identifier_that_the_rules_build() -> None:
    assert {"01", "02", "10", "11", "13", "15", "17", "21", "37", "3100", "3105"} <= set(ELEMENTS)
