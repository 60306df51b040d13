"""Grams and pieces from what people type, and back to what people read."""

import re
import unicodedata
from decimal import Decimal
from fractions import Fraction

from workshop.rules.errors import RuleError

Exact = Fraction | Decimal | int

# Narrow no-break space: a weight and its unit stay on one line.
THIN_SPACE = "\u202f"
LONGEST_TEXT = 60
MOST_G = 10_000_000
MOST_PIECES = 10_000_000

POUND_G = Fraction("453.59237")
OUNCE_G = POUND_G / 16
# 231 cubic inches of 2.54 cm.
GALLON_ML = 231 * Fraction("2.54") ** 3
FLUID_OUNCE_ML = GALLON_ML / 128
TABLESPOON_ML = FLUID_OUNCE_ML / 2
TEASPOON_ML = TABLESPOON_ML / 3

MASS_WORDS: dict[Fraction, str] = {
    Fraction(1, 1000): "mg milligram milligrams milligramme milligrammes",
    Fraction(1): "g gram grams gramme grammes",
    Fraction(1000): "kg kgs kilo kilos kilogram kilograms kilogramme kilogrammes",
    OUNCE_G: "oz ozs ounce ounces",
    POUND_G: "lb lbs pound pounds #",
}
VOLUME_WORDS: dict[Fraction, str] = {
    Fraction(1): "ml millilitre millilitres milliliter milliliters cc",
    Fraction(10): "cl centilitre centilitres centiliter centiliters",
    Fraction(100): "dl decilitre decilitres deciliter deciliters",
    Fraction(1000): "l litre litres liter liters",
    TEASPOON_ML: "tsp tsps teaspoon teaspoons",
    TABLESPOON_ML: "tbsp tbsps tbs tablespoon tablespoons",
    FLUID_OUNCE_ML: "floz flozs fluidounce fluidounces",
    GALLON_ML / 16: "cup cups",
    GALLON_ML / 8: "pt pint pints",
    GALLON_ML / 4: "qt quart quarts",
    GALLON_ML: "gal gallon gallons",
}
MASS_G = {word: size for size, words in MASS_WORDS.items() for word in words.split()}
VOLUME_ML = {word: size for size, words in VOLUME_WORDS.items() for word in words.split()}
PIECE_WORDS = {
    word: size
    for size, words in {
        1: "each ea pc pcs piece pieces unit units tin tins jar jars",
        12: "dozen",
    }.items()
    for word in words.split()
} | {"": 1}

NUMBER = r"[0-9]+\s+[0-9]+\s*/\s*[0-9]+|[0-9]+\s*/\s*[0-9]+|[0-9][0-9.,]*|[.,][0-9]+"
TERM = re.compile(rf"\s*(?P<number>{NUMBER})\s*(?P<unit>[^0-9]*?)\s*(?=[0-9]|\Z)")
TIMES = re.compile(r"\s*(?P<count>[0-9]+)\s*x\s*(?=[0-9.,])")
PLAIN = re.compile(r"[0-9]+\.?[0-9]*|[0-9]*[.,]?[0-9]+")
# Both marks, or the same mark twice, leave only one reading: 1,234.5 or 1.234,5 or 1,234,567.
GROUPED = (
    (re.compile(r"[0-9]{1,3}(,[0-9]{3})+\.[0-9]+|[0-9]{1,3}(,[0-9]{3}){2,}"), ",", "."),
    (re.compile(r"[0-9]{1,3}(\.[0-9]{3})+,[0-9]+|[0-9]{1,3}(\.[0-9]{3}){2,}"), ".", ","),
)
TWO_READINGS = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")


def parse_number(text: str) -> Fraction:
    """Return the number in `text`: decimal, fraction or mixed number, exactly.

    The comma is a decimal mark, like the point. Grouped thousands are read where only one
    reading is left ("1,234.5", "1.234,5", "1,234,567"); "1,234" alone is refused, because half
    the world means 1.234 by it and the other half 1234.

    Units: none. Error: none.
    Source: both marks are allowed by ISO 80000-1 (from memory); the refusal is our own choice.
    Raises: RuleError when it is no number, has two readings or divides by zero.

    >>> parse_number("62,4"), parse_number("1 1/2"), parse_number("1,234.5")
    (Fraction(312, 5), Fraction(3, 2), Fraction(2469, 2))
    >>> parse_number("1,234")
    Traceback (most recent call last):
    workshop.rules.errors.RuleError: "1,234" can mean 1.234 or 1234. Please type the one you mean.
    """
    tidy = _tidy(text).strip()
    if not re.fullmatch(NUMBER, tidy):
        raise RuleError(f'"{_shown(text)}" is not a number. Type one like 62.4, 62,4 or 1 1/2.')
    if "/" not in tidy:
        return _decimal(tidy)
    over, under = tidy.split("/")
    whole, top = ("0", *over.split())[-2:]
    if int(under) == 0:
        raise RuleError(f'"{_shown(text)}" divides by zero. Please type the number again.')
    return int(whole) + Fraction(int(top), int(under))


def read_mass(text: str, *, density_g_per_ml: Decimal | None = None) -> Fraction:
    """Return the mass in `text` in grams, exactly: zero is allowed here, less is not.

    Reads "62.4", "62,4 g", "1/4 oz", "1 1/2 lb", "1 lb 4 oz", "3 x 5 kg", and through a density
    "2 tsp", "1.5 fl oz", "2 L". Without a unit it is grams. "oz" is always a weight. Spoons,
    cups, pints and gallons are US measures, not rounded to whole millilitres.

    Units: g; density in g/mL.
    Error: none.
    Source: NIST Handbook 44, Appendix C, and SP 811 (pound 453.592 37 g, gallon 231 cubic
        inches, fluid ounce 1/128 gallon, tablespoon 1/2 fluid ounce, teaspoon 1/3 tablespoon).
    Raises: RuleError when it cannot be read, has a unit not known, is below zero, beyond ten
        tonnes, or is a volume and no density was given.

    >>> read_mass("1/4 oz"), read_mass("2 L", density_g_per_ml=Decimal("0.915"))
    (Fraction(45359237, 6400000), Fraction(1830, 1))
    """
    tidy = _tidy(text).strip()
    if tidy.startswith(("-", "\u2212")):
        raise RuleError("A weight cannot be below zero.")
    count, rest = _times(tidy)
    terms = _terms(rest, text)
    sizes = [_unit_g(unit, density_g_per_ml) for _, unit in terms]
    if sizes != sorted(set(sizes), reverse=True):
        raise RuleError(
            f'"{_shown(text)}" names its units in an odd order. Type one like 1 lb 4 oz.'
        )
    grams = count * sum((n * size for (n, _), size in zip(terms, sizes, strict=True)), Fraction())
    if grams > MOST_G:
        raise RuleError("That is more than ten tonnes. Please check the number and its unit.")
    return grams


def parse_mass(
    text: str, *, density_g_per_ml: Decimal | None = None, allow_zero: bool = False
) -> Decimal:
    """Return the mass in `text` in grams, rounded to a whole milligram, as the ledger keeps it.

    Units: g; density in g/mL.
    Error: at most half a milligram; an exact half goes to the even milligram.
    Source: as `read_mass`; rounding as NIST SP 811, B.7.1.
    Raises: as `read_mass`; and RuleError for zero (unless `allow_zero`) or under a milligram.

    >>> parse_mass("62,4 g"), parse_mass("1 lb 4 oz"), parse_mass("3 x 5 kg")
    (Decimal('62.4'), Decimal('566.99'), Decimal('15000'))
    >>> parse_mass("2 tsp", density_g_per_ml=Decimal("0.913"))
    Decimal('9')
    """
    exact_g = read_mass(text, density_g_per_ml=density_g_per_ml)
    if exact_g == 0 and not allow_zero:
        raise RuleError("The weight must be above zero.")
    mg = to_mg(exact_g)
    if mg == 0 and exact_g > 0:
        raise RuleError("That is less than a milligram, and the book keeps whole milligrams.")
    return Decimal(mg) / 1000


def parse_volume(text: str) -> Decimal:
    """Return the volume in `text` in millilitres, rounded to a thousandth.

    Units: mL. Error: at most half a thousandth. Source: as `read_mass`.
    Raises: RuleError for a weight, a bare number, and as `read_mass`.

    >>> parse_volume("250 mL"), parse_volume("8 fl oz")
    (Decimal('250'), Decimal('236.588'))
    """
    if not is_volume(text):
        raise RuleError(f'"{_shown(text)}" is not a volume. Type one like 250 mL or 8 fl oz.')
    # At one gram a millilitre a volume reads as its own weight.
    return parse_mass(text, density_g_per_ml=Decimal(1))


def is_volume(text: str) -> bool:
    """Say whether `text` is a volume, which no weight follows from without a density.

    >>> is_volume("8 fl oz"), is_volume("8 oz"), is_volume("much")
    (True, False, False)
    """
    try:
        read_mass(text)
    except RuleError:
        try:
            read_mass(text, density_g_per_ml=Decimal(1))
        except RuleError:
            return False
        return True
    return False


def parse_count(text: str, *, allow_zero: bool = False) -> int:
    """Return the number of pieces in `text`: "144", "3 x 144", "1,000 pcs", "2 dozen".

    Units: pieces. Error: none. Source: common practice, no source.
    Raises: RuleError when it is no whole number, below one, or above ten million.

    >>> parse_count("3 x 144"), parse_count("1,000 pcs")
    (432, 1000)
    """
    tidy = _tidy(text).strip()
    if tidy.startswith(("-", "\u2212")):
        raise RuleError("A number of pieces cannot be below zero.")
    count, rest = _times(tidy)
    match = re.fullmatch(r"\s*([0-9]+|[0-9]{1,3}(?:,[0-9]{3})+)\s*([a-z]*)\.?\s*", rest)
    if match is None or match[2] not in PIECE_WORDS:
        raise RuleError(f'"{_shown(text)}" is not a number of pieces. Type one like 144 or 3 x 48.')
    pieces = count * int(match[1].replace(",", "")) * PIECE_WORDS[match[2]]
    if pieces == 0 and not allow_zero:
        raise RuleError("The number of pieces must be above zero.")
    if pieces > MOST_PIECES:
        raise RuleError("That is more than ten million pieces. Please check the number.")
    return pieces


def parse_density(text: str) -> Decimal:
    """Return the density in `text`, between 0.3 and 3 g/mL, to four decimals.

    Units: g/mL. Error: at most 0.000 05 g/mL. Source: the bounds are common practice, no source.
    Raises: RuleError when it is no number or out of bounds (916 kg/m³ is 0.916 g/mL).

    >>> parse_density("0,916")
    Decimal('0.9160')
    """
    density = round_to(parse_number(text), Decimal("0.0001"))
    if not Decimal("0.3") <= density <= 3:
        raise RuleError(
            "A density is given in g/mL and lies between 0.3 and 3; oils are near 0.92."
        )
    return density


def to_mg(grams: Exact) -> int:
    """Return `grams` in whole milligrams, an exact half to the even one (NIST SP 811, B.7.1).

    >>> to_mg(Decimal("0.0005")), to_mg(Decimal("0.0015"))
    (0, 2)
    """
    return round(Fraction(grams) * 1000)


def round_to(value: Exact, step: Decimal) -> Decimal:
    """Return the multiple of `step` nearest to `value`, an exact half to the even multiple.

    Units: `value` and `step` in the same unit. Error: at most half a step.
    Source: NIST SP 811, B.7.1. Raises: nothing for a step above zero.

    >>> round_to(Decimal("37.26"), Decimal("0.5")), round_to(Fraction(1, 3), Decimal("0.01"))
    (Decimal('37.5'), Decimal('0.33'))
    """
    return round(Fraction(value) / Fraction(step)) * step


def floor_to(value: Exact, step: Decimal) -> Decimal:
    """Return the greatest multiple of `step` that is not above `value`.

    >>> floor_to(Decimal("37.49"), Decimal("0.5"))
    Decimal('37.0')
    """
    return (Fraction(value) // Fraction(step)) * step


def ceil_to(value: Exact, step: Decimal) -> Decimal:
    """Return the least multiple of `step` that is not below `value`.

    >>> ceil_to(Decimal("37.01"), Decimal("0.5"))
    Decimal('37.5')
    """
    return -floor_to(-Fraction(value), step)


def show_number(value: Exact, step: Decimal = Decimal("0.001")) -> str:
    """Return `value` rounded to `step` and written with the decimals that `step` has.

    Units: as given. Error: at most half a step. Source: as `round_to`. Raises: nothing.

    >>> show_number(Decimal("37.26"), Decimal("0.5")), show_number(Decimal(5), Decimal("0.010"))
    ('37.5', '5.00')
    """
    exponent = step.normalize().as_tuple().exponent
    places = max(0, -int(exponent))
    shown = f"{round_to(value, step) + 0:.{places}f}"
    return shown.replace("-", "\u2212")


def without_zeros(text: str) -> str:
    """Return a written number without the zeros behind its point that say nothing.

    >>> without_zeros("37.50"), without_zeros("37.00"), without_zeros("370")
    ('37.5', '37', '370')
    """
    return text.rstrip("0").rstrip(".") if "." in text else text


def show_mass(grams: Exact, division_g: Decimal | None = None) -> str:
    """Return `grams` to the scale's division, thousands apart, a narrow no-break space and "g".

    Without a division: to the milligram, and no zeros at the end that say nothing.

    Units: g. Error: at most half a division. Source: as `round_to`. Raises: nothing.

    >>> show_mass(Decimal("62.4"), Decimal("0.5")) == "62.5\\u202fg"
    True
    >>> show_mass(Decimal("62.400")) == "62.4\\u202fg"
    True
    >>> show_mass(Decimal("23040")) == "23\\u202f040\\u202fg"
    True
    """
    if division_g is None:
        shown = without_zeros(show_number(grams))
    else:
        shown = show_number(grams, division_g)
    whole, point, decimals = shown.partition(".")
    whole = re.sub(r"\B(?=(\d{3})+$)", THIN_SPACE, whole)
    return f"{whole}{point}{decimals}{THIN_SPACE}g"


def grams_to_ounces(grams: Exact) -> Fraction:
    """Return `grams` in avoirdupois ounces, exactly (28.349 523 125 g, NIST Handbook 44).

    >>> grams_to_ounces(Decimal("453.59237"))
    Fraction(16, 1)
    """
    return Fraction(grams) / OUNCE_G


def ounces_to_grams(ounces: Exact) -> Fraction:
    """Return avoirdupois `ounces` in grams, exactly (NIST Handbook 44).

    >>> ounces_to_grams(Fraction(1, 2))
    Fraction(45359237, 3200000)
    """
    return Fraction(ounces) * OUNCE_G


def _tidy(text: str) -> str:
    """Lower the case, spell out one-character fractions, close up digits grouped by thin spaces."""
    if len(text) > LONGEST_TEXT:
        raise RuleError(f"That text is too long for a number; {LONGEST_TEXT} characters will do.")
    closed = re.sub(r"(?<=[0-9])[\u00a0\u2009\u202f](?=[0-9]{3})", "", text)
    plain = "".join(_plain(character) for character in closed).lower()
    return plain.translate({0x2044: "/", 0xD7: "x", 0x2715: "x", ord("*"): "x"})


def _plain(character: str) -> str:
    if "VULGAR" in unicodedata.name(character, ""):
        return f" {unicodedata.normalize('NFKC', character)} "
    # A raised figure is a footnote or a power, never a digit of the number beside it.
    raised = unicodedata.decomposition(character).startswith(("<super>", "<sub>", "<circle>"))
    return character if raised else unicodedata.normalize("NFKC", character)


def _shown(text: str) -> str:
    return text if len(text) <= 30 else text[:29] + "…"


def _decimal(text: str) -> Fraction:
    for grouped, group_mark, decimal_mark in GROUPED:
        if grouped.fullmatch(text):
            return Fraction(text.replace(group_mark, "").replace(decimal_mark, "."))
    if TWO_READINGS.fullmatch(text):
        either = f"{text.replace(',', '.')} or {text.replace(',', '')}"
        raise RuleError(f'"{text}" can mean {either}. Please type the one you mean.')
    if not PLAIN.fullmatch(text):
        raise RuleError(f'"{_shown(text)}" has too many points or commas to be a number.')
    return Fraction(text.replace(",", "."))


def _times(text: str) -> tuple[int, str]:
    match = TIMES.match(text)
    return (int(match["count"]), text[match.end() :]) if match else (1, text)


def _terms(rest: str, text: str) -> list[tuple[Fraction, str]]:
    """Split "1 lb 4 oz" into numbers and units; only a single number may lack its unit."""
    terms: list[tuple[Fraction, str]] = []
    place = 0
    while place < len(rest):
        match = TERM.match(rest, place)
        if match is None:
            break
        terms.append((parse_number(match["number"]), match["unit"].strip()))
        place = match.end()
    if not terms or place < len(rest) or (len(terms) > 1 and any(not unit for _, unit in terms)):
        raise RuleError(f'"{_shown(text)}" is not a weight. Type one like 62.4 g, 1/4 oz or 2 kg.')
    return terms


def _unit_g(written: str, density_g_per_ml: Decimal | None) -> Fraction:
    """Return how many grams one unit weighs, as `written` with or without full stops."""
    unit = re.sub(r"[\s.]", "", written)
    if unit in MASS_G or not unit:
        return MASS_G.get(unit, Fraction(1))
    if unit in ("drop", "drops"):
        raise RuleError("A drop has no fixed weight. Weigh it and type the grams.")
    if unit not in VOLUME_ML:
        raise RuleError(
            f'"{_shown(written)}" is not a unit known here. Use g, kg, mg, oz or lb; '
            "or mL, L, tsp, tbsp, cup or fl oz for an item that has a density."
        )
    if density_g_per_ml is None:
        raise RuleError(
            "A volume cannot be turned into grams without the item's density. "
            "Weigh it, or enter the density in g/mL first."
        )
    if not density_g_per_ml.is_finite() or density_g_per_ml <= 0:
        raise RuleError("The item's density must be above zero.")
    return VOLUME_ML[unit] * Fraction(density_g_per_ml)
