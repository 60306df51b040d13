"""Units: NIST figures, Pint as a second opinion, and what nobody can know is refused."""

from decimal import Decimal
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.rules.errors import RuleError
from workshop.rules.quantities.units import (
    MASS_G,
    VOLUME_ML,
    ceil_to,
    floor_to,
    grams_to_ounces,
    ounces_to_grams,
    parse_count,
    parse_density,
    parse_mass,
    parse_number,
    read_mass,
    round_to,
    show_mass,
    show_number,
    to_mg,
)

PINT: pint.UnitRegistry[Decimal] = pint.UnitRegistry(non_int_type=Decimal)
WATER = Decimal("0.998")


@pytest.mark.parametrize(
    ("word", "grams"),
    [  # NIST Handbook 44 (2014), Appendix C; SP 811 (2008), note 22
        ("lb", "453.59237"),
        ("oz", "28.349523125"),
        ("kg", "1000"),
        ("mg", "0.001"),
    ],
)
def test_unit_of_mass_is_exact(word: str, grams: str) -> None:
    assert MASS_G[word] == Fraction(grams)


@pytest.mark.parametrize(
    ("word", "millilitres"),
    [  # NIST Handbook 44 (2014), Appendix C: gallon of 231 cubic inches and its parts
        ("gal", "3785.411784"),
        ("floz", "29.5735295625"),
        ("cup", "236.5882365"),
        ("tbsp", "14.78676478125"),
        ("tsp", "4.92892159375"),
        ("l", "1000"),
    ],
)
def test_unit_of_volume_is_exact_and_not_rounded_to_millilitres(
    word: str, millilitres: str
) -> None:
    assert VOLUME_ML[word] == Fraction(millilitres)


@pytest.mark.parametrize(
    ("text", "grams"),
    [
        ("62.4", "62.4"),
        ("62,4 g", "62.4"),
        (" 62.4g ", "62.4"),
        ("0,250 kg", "250"),
        (".5 g", "0.5"),
        ("5. g", "5"),
        ("1/4 oz", "7.087"),
        ("½ oz", "14.175"),
        ("1½ lb", "680.389"),
        ("1 1/2 lb", "680.389"),
        ("1 lb 4 oz", "566.99"),
        ("1lb 4oz", "566.99"),
        ("2 kg 250 g", "2250"),
        ("3 \u00d7 5 kg", "15000"),
        ("3x5kg", "15000"),
        ("3 X 5 KG", "15000"),
        ("3 * 1 lb 4 oz", "1700.971"),
        ("1\u202f234\u00a0g", "1234"),
        ("1,234.5", "1234.5"),
        ("1.234,5", "1234.5"),
        ("1,234,567.5 g", "1234567.5"),
        ("1.234", "1.234"),
        ("12,5", "12.5"),
        ("\uff11\uff12 \u338f", "12000"),
        ("250 mg", "0.25"),
        ("5 lbs.", "2267.962"),
        ("0.0005 g", None),
        ("0.0015 g", "0.002"),
    ],
)
def test_mass_is_read_as_it_is_written(text: str, grams: str | None) -> None:
    if grams is None:
        with pytest.raises(RuleError, match="less than a milligram"):
            parse_mass(text)
    else:
        assert parse_mass(text) == Decimal(grams)


@pytest.mark.parametrize(
    ("text", "grams"),
    [
        ("2 tsp", "9"),  # 2 x 4.928 921 593 75 mL x 0.913 g/mL = 9.000 210...
        ("1 tbsp", "13.5"),
        ("1.5 fl oz", "40.501"),
        ("1.5 fl. oz.", "40.501"),
        ("2 L", "1826"),
        ("250 ml", "228.25"),
        ("1 cup 2 tbsp", "243.006"),
        ("100 g", "100"),
    ],
)
def test_volume_becomes_grams_through_the_density_of_olive_oil(text: str, grams: str) -> None:
    assert parse_mass(text, density_g_per_ml=Decimal("0.913")) == Decimal(grams)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", '"" is not a weight. Type one like 62.4 g, 1/4 oz or 2 kg.'),
        ("heavy", '"heavy" is not a weight. Type one like 62.4 g, 1/4 oz or 2 kg.'),
        ("nan", '"nan" is not a weight. Type one like 62.4 g, 1/4 oz or 2 kg.'),
        ("infinity", '"infinity" is not a weight. Type one like 62.4 g, 1/4 oz or 2 kg.'),
        ("1 lb 4", '"1 lb 4" is not a weight. Type one like 62.4 g, 1/4 oz or 2 kg.'),
        ("1 234 g", '"1 234 g" is not a weight. Type one like 62.4 g, 1/4 oz or 2 kg.'),
        ("4 oz 1 lb", '"4 oz 1 lb" names its units in an odd order. Type one like 1 lb 4 oz.'),
        ("4 oz 2 oz", '"4 oz 2 oz" names its units in an odd order. Type one like 1 lb 4 oz.'),
        ("-3 g", "A weight cannot be below zero."),
        ("\u22123 g", "A weight cannot be below zero."),
        ("0 g", "The weight must be above zero."),
        ("0 x 5 g", "The weight must be above zero."),
        ("1/0 oz", '"1/0" divides by zero. Please type the number again.'),
        ("1,234", '"1,234" can mean 1.234 or 1234. Please type the one you mean.'),
        ("1.2.3", '"1.2.3" has too many points or commas to be a number.'),
        ("1,2,3", '"1,2,3" has too many points or commas to be a number.'),
        ("10 t", None),
        ("1e5", None),
        ("99999999999999999999", None),
        ("3 drops", "A drop has no fixed weight. Weigh it and type the grams."),
        ("5¹ g", None),
        ("9" * 61, "That text is too long for a number; 60 characters will do."),
        (
            "5 stone",
            '"stone" is not a unit known here. Use g, kg, mg, oz or lb; '
            "or mL, L, tsp, tbsp, cup or fl oz for an item that has a density.",
        ),
        (
            "2 tsp",
            "A volume cannot be turned into grams without the item's density. "
            "Weigh it, or enter the density in g/mL first.",
        ),
        ("10000001 g", "That is more than ten tonnes. Please check the number and its unit."),
    ],
)
def test_mass_that_cannot_be_known_is_refused(text: str, sentence: str | None) -> None:
    with pytest.raises(RuleError) as caught:
        parse_mass(text)
    if sentence:
        assert str(caught.value) == sentence


@pytest.mark.parametrize("density", ["0", "-1", "NaN", "Infinity"])
def test_volume_is_refused_with_a_density_that_cannot_be(density: str) -> None:
    with pytest.raises(RuleError, match="density must be above zero"):
        parse_mass("2 L", density_g_per_ml=Decimal(density))


def test_zero_is_accepted_where_it_is_asked_for() -> None:
    assert parse_mass("0", allow_zero=True) == 0
    assert parse_count("0", allow_zero=True) == 0


MASSES = {"g": "gram", "kg": "kilogram", "mg": "milligram", "oz": "ounce", "lb": "pound"}
VOLUMES = {
    "mL": "milliliter",
    "L": "liter",
    "tsp": "teaspoon",
    "tbsp": "tablespoon",
    "fl oz": "fluid_ounce",
    "cup": "cup",
    "pt": "pint",
    "qt": "quart",
    "gal": "gallon",
}
numbers = st.decimals(Decimal("0.01"), 500, places=2)


@given(numbers, st.sampled_from(sorted(MASSES)))
def test_mass_agrees_with_pint(number: Decimal, unit: str) -> None:
    wanted = (number * PINT(MASSES[unit])).to("gram").magnitude

    assert abs(read_mass(f"{number} {unit}") - Fraction(wanted)) < Fraction(1, 10**15)


@given(numbers, st.sampled_from(sorted(VOLUMES)))
def test_volume_agrees_with_pint(number: Decimal, unit: str) -> None:
    wanted = (number * PINT(VOLUMES[unit])).to("milliliter").magnitude * WATER
    found = read_mass(f"{number} {unit}", density_g_per_ml=WATER)

    assert abs(found - Fraction(wanted)) < Fraction(1, 10**15)


@given(st.decimals(Decimal("0.001"), 10**6, places=3))
def test_mass_in_milligrams_is_read_back_as_shown(grams: Decimal) -> None:
    assert parse_mass(show_mass(grams)) == grams


@given(st.text(max_size=70))
def test_any_text_is_read_or_refused_and_never_fails_otherwise(text: str) -> None:
    for read in (parse_mass, parse_count, parse_number, parse_density):
        for attempt in (text, "1" + text, "1 " + text, "1/" + text):
            try:
                read(attempt)
            except RuleError:
                continue


@pytest.mark.parametrize(
    ("text", "pieces"),
    [("144", 144), ("3 \u00d7 144", 432), ("3x144", 432), ("1,000", 1000), ("2 dozen", 24),
     ("48 tins", 48), ("12 pcs.", 12), ("10 x 1,000", 10_000)],
)  # fmt: skip
def test_count_is_read_as_it_is_written(text: str, pieces: int) -> None:
    assert parse_count(text) == pieces


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", '"" is not a number of pieces. Type one like 144 or 3 x 48.'),
        ("12.5", '"12.5" is not a number of pieces. Type one like 144 or 3 x 48.'),
        ("12,5", '"12,5" is not a number of pieces. Type one like 144 or 3 x 48.'),
        ("12 kg", '"12 kg" is not a number of pieces. Type one like 144 or 3 x 48.'),
        ("-1", "A number of pieces cannot be below zero."),
        ("0", "The number of pieces must be above zero."),
        ("10000001", "That is more than ten million pieces. Please check the number."),
    ],
)
def test_count_that_is_none_is_refused(text: str, sentence: str) -> None:
    with pytest.raises(RuleError) as caught:
        parse_count(text)
    assert str(caught.value) == sentence


def test_density_given_in_kilograms_a_cubic_metre_is_refused() -> None:
    assert parse_density("0,916") == Decimal("0.916")
    with pytest.raises(RuleError, match=r"between 0\.3 and 3; oils are near 0\.92"):
        parse_density("916")


@pytest.mark.parametrize(
    ("value", "step", "rounded"),
    [  # NIST SP 811 (2008), B.7.1, printed examples
        ("6.9749515", "0.01", "6.97"),
        ("6.9749515", "0.1", "7.0"),
        ("6.9749515", "0.0001", "6.9750"),
        ("6.9749515", "0.000001", "6.974952"),
        ("6.9749505", "0.000001", "6.974950"),
    ],
)
def test_rounding_follows_the_published_examples(value: str, step: str, rounded: str) -> None:
    assert str(round_to(Decimal(value), Decimal(step))) == rounded


@given(st.fractions(-1000, 1000), st.sampled_from([Decimal("0.5"), Decimal("0.01"), Decimal(2)]))
def test_rounding_is_never_further_than_half_a_step(value: Fraction, step: Decimal) -> None:
    assert abs(Fraction(round_to(value, step)) - value) * 2 <= Fraction(step)
    assert floor_to(value, step) <= value <= ceil_to(value, step)
    assert ceil_to(value, step) - floor_to(value, step) in (0, step)


def test_milligrams_are_rounded_half_to_even() -> None:
    assert [to_mg(Decimal(text)) for text in ("0.0005", "0.0015", "0.0025", "62.4")] == [
        0,
        2,
        2,
        62400,
    ]


def test_mass_is_shown_to_the_division_with_a_thin_space() -> None:
    assert show_mass(Decimal("62.4"), Decimal("0.5")) == "62.5\u202fg"
    assert show_mass(Decimal("-3"), Decimal("0.1")) == "\u22123.0\u202fg"
    assert show_mass(Decimal("-123456.5"), Decimal("0.1")) == "\u2212123\u202f456.5\u202fg"
    assert show_mass(Decimal(1234567)) == "1\u202f234\u202f567\u202fg"
    assert show_mass(Decimal("999.9995")) == "1\u202f000\u202fg"
    assert show_number(Decimal("-0.0001"), Decimal("0.01")) == "0.00"
    assert show_number(Decimal(1234), Decimal(10)) == "1230"


@given(st.fractions(0, 10**6))
def test_ounces_and_grams_turn_into_each_other_exactly(grams: Fraction) -> None:
    assert ounces_to_grams(grams_to_ounces(grams)) == grams
