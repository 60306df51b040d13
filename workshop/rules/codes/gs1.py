"""GS1 numbers and element strings: what a carton code says, read and written."""

import re
from calendar import monthrange
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from urllib.parse import parse_qsl, quote, unquote, urlsplit

from workshop.rules.codes.gs1_pairs import refuse_wrong_company
from workshop.rules.errors import RuleError

FNC1 = "\x1d"
GTIN_LENGTHS = (8, 12, 13, 14)
# The 82 characters a lot or serial may hold (GS1 General Specifications, figure 7.11-1).
TEXT_82 = re.compile(r"[!\"%&'()*+,\-./0-9:;<=>?A-Z_a-z]*\Z")
DIGITS = re.compile(r"[0-9]*\Z")
SYMBOLOGY = re.compile(r"\][A-Za-z][0-9A-Za-z]")
LINK = re.compile(r"(?:https?://|/)\S*", re.IGNORECASE)
IN_BRACKETS = re.compile(r"\(([0-9]{2,4})\)(.*?)(?=\([0-9]{2,4}\)|\Z)", re.DOTALL)
LINK_KEY_ORDER = ("01", "22", "10", "21")


@dataclass(frozen=True)
class Element:
    """What one application identifier may hold; `fixed` ones need no separator after them."""

    name: str
    longest: int
    fixed: bool
    digits_only: bool = True
    check: str = ""


def _table() -> dict[str, Element]:
    gtin = Element("GTIN", 14, fixed=True, check="key")
    day = Element("date", 6, fixed=True, check="date")
    text = Element("text", 20, fixed=False, digits_only=False)
    count = Element("count", 8, fixed=False)
    table = {"00": Element("SSCC", 18, fixed=True, check="key"), "01": gtin, "02": gtin}
    table |= dict.fromkeys(("10", "21", "22"), text)
    table |= dict.fromkeys(("11", "13", "15", "16", "17"), day)
    table |= {"20": Element("variant", 2, fixed=True), "30": count, "37": count}
    table |= dict.fromkeys(("240", "400"), Element("text", 30, fixed=False, digits_only=False))
    table |= {"414": Element("location number", 13, fixed=True, check="key")}
    weights = [f"3{kind}0{places}" for kind in "12" for places in range(6)]
    table |= dict.fromkeys(weights, Element("net weight", 6, fixed=True))
    own = [str(ai) for ai in range(91, 100)]
    return table | dict.fromkeys(own, Element("own text", 90, fixed=False, digits_only=False))


# Source: GS1 Barcode Syntax Dictionary; the identifiers a workshop or its suppliers print.
ELEMENTS = _table()


def gtin_check_digit(body: str) -> str:
    """Return the check digit that completes `body`, a GS1 number without its last digit.

    Units: `body` is 1 to 17 digits. Error: none; every single wrong digit is found.
    Source: GS1 General Specifications, standard check digit calculation.
    Raises: RuleError when `body` is not only digits.

    >>> gtin_check_digit("123456789012")
    '8'
    """
    if not re.fullmatch(r"[0-9]{1,17}", body):
        raise RuleError("A GS1 number has only the digits 0 to 9.")
    weighted = sum(int(digit) * (1 if place % 2 else 3) for place, digit in enumerate(body[::-1]))
    return str(-weighted % 10)


def check_gtin(text: str) -> str:
    """Return the GTIN in `text` without spaces and hyphens, having checked it.

    Units: 8, 12, 13 or 14 digits, as typed (see `gtin14` to compare two).
    Error: none. Source: GS1 General Specifications.
    Raises: RuleError, saying which of length, characters or check digit is wrong.

    >>> check_gtin("9 521234 543213")
    '9521234543213'
    >>> check_gtin("9521234543214")
    Traceback (most recent call last):
    workshop.rules.errors.RuleError: The last digit of GTIN 9521234543214 does not fit \
the others; it would have to be 3. Check the number against the pack.
    """
    gtin = re.sub(r"[\s\-]", "", text)
    if not re.fullmatch(r"[0-9]+", gtin):
        raise RuleError("A GTIN has only digits; type the number under the bar code.")
    if len(gtin) not in GTIN_LENGTHS:
        raise RuleError(f"A GTIN has 8, 12, 13 or 14 digits, and this one has {len(gtin)}.")
    fitting = gtin_check_digit(gtin[:-1])
    if gtin[-1] != fitting:
        raise RuleError(
            f"The last digit of GTIN {gtin} does not fit the others; it would have to be "
            f"{fitting}. Check the number against the pack."
        )
    return gtin


def gtin14(text: str) -> str:
    """Return the GTIN in `text` with zeros in front, 14 digits, so that two can be compared.

    Units, error, source and raises: as `check_gtin`.

    >>> gtin14("9521234543213")
    '09521234543213'
    """
    return check_gtin(text).zfill(14)


def gs1_day(value: str) -> date:
    """Return the day that a YYMMDD element means; day 00 is the last day of that month.

    Units: six digits, of the years 2000 to 2099.
    Error: none. Source: GS1 Syntax Dictionary (form, day 00); that day 00 means the month's
        end is from memory of the GS1 General Specifications.
    Raises: RuleError when there is no such day.

    >>> gs1_day("271231"), gs1_day("270200")
    (datetime.date(2027, 12, 31), datetime.date(2027, 2, 28))
    """
    if not re.fullmatch(r"[0-9]{6}", value):
        raise RuleError("A date in a GS1 code is six digits: year, month and day.")
    year, month, day = 2000 + int(value[:2]), int(value[2:4]), int(value[4:])
    if not 1 <= month <= 12 or day > monthrange(year, month)[1]:
        raise RuleError(f"The code holds the date {value}, and there is no such day.")
    return date(year, month, day or monthrange(year, month)[1])


def net_weight_element(grams: Decimal) -> tuple[str, str]:
    """Return the net weight element for `grams`: identifier 310n and its six digits of kg.

    Units: grams in, kilograms in the code, with as many decimals as six digits allow.
    Error: none; a weight finer than the code can say is refused.
    Source: GS1 General Specifications, AI 310n.
    Raises: RuleError when the weight is not above zero, too great or too fine.

    >>> net_weight_element(Decimal(1250))
    ('3103', '001250')
    """
    for places in (3, 4, 5, 2, 1, 0) if grams.is_finite() else ():
        digits = grams / 1000 * 10**places
        if 0 < digits < 10**6 and digits == int(digits):
            return f"310{places}", f"{int(digits):06}"
    raise RuleError(f"A net weight of {grams} g cannot be written in a GS1 code.")


def element_string(parts: Iterable[tuple[str, str | date]]) -> tuple[str, str]:
    """Return the element string of `parts`, as people read it and as the symbol holds it.

    Units: pairs of application identifier and value; a `date` is written YYMMDD.
    Error: none; the FNC1 separator (character 29) stands only where the standard needs it.
    Source: GS1 General Specifications and Barcode Syntax Dictionary.
    Raises: RuleError for an unknown identifier, a value out of form, a wrong check digit or
        date, an identifier twice, or one without the identifier it must come with.

    >>> element_string([("01", "9521234543213"), ("15", date(2027, 12, 31)), ("10", "LB-0423")])
    ('(01)09521234543213(15)271231(10)LB-0423', '01095212345432131527123110LB-0423')
    """
    written = [(ai, _checked(ai, _as_text(ai, value))) for ai, value in parts]
    refuse_wrong_company([ai for ai, _ in written])
    human = "".join(f"({ai}){value}" for ai, value in written)
    data = "".join(ai + value + ("" if ELEMENTS[ai].fixed else FNC1) for ai, value in written)
    return human, data.removesuffix(FNC1)


def digital_link(base: str, parts: Sequence[tuple[str, str | date]]) -> str:
    """Return the GS1 Digital Link web address of `parts` under `base`.

    Units: `base` is a web address without a path of its own ("https://example.org").
    Error: none. Source: GS1 Digital Link: key 01, then 22, 10, 21; the rest in the query.
    Raises: as `element_string`, and RuleError without a GTIN.

    >>> digital_link("https://example.org", [("01", "09521234543213"), ("10", "LB/4")])
    'https://example.org/01/09521234543213/10/LB%2F4'
    """
    element_string(parts)
    values = {ai: _as_text(ai, value) for ai, value in parts}
    if "01" not in values:
        raise RuleError("A Digital Link needs the product's GTIN.")
    path = [f"/{ai}/{quote(values.pop(ai), safe='')}" for ai in LINK_KEY_ORDER if ai in values]
    query = "&".join(f"{ai}={quote(value, safe='')}" for ai, value in values.items())
    return base.rstrip("/") + "".join(path) + (f"?{query}" if query else "")


def strip_symbology(text: str) -> str:
    """Return `text` without the mark that some scanners put in front ("]C1", "]d2", "]E0").

    >>> strip_symbology("]C010LB"), strip_symbology("ABCDEFC")
    ('10LB', 'ABCDEFC')
    """
    text = text.strip(" \t\r\n")
    return text[3:] if SYMBOLOGY.match(text) else text


def parse_element_string(data: str) -> dict[str, str]:
    """Return what a scanned GS1 code says, as application identifier -> value.

    Takes the raw data with FNC1 (character 29) between elements, with or without the scanner's
    mark in front; the bracketed form "(01)...(10)..."; and a GS1 Digital Link.

    Units: values as in the code; `gs1_day` reads a date, GTINs have 14 digits.
    Error: none. Source: GS1 General Specifications and Barcode Syntax Dictionary.
    Raises: RuleError when the text is no GS1 code or a value in it is wrong.

    >>> parse_element_string("]C1010952123454321310LB-0423\\x1d15271231")
    {'01': '09521234543213', '10': 'LB-0423', '15': '271231'}
    >>> parse_element_string("(01)09521234543213(10)LB-0423")
    {'01': '09521234543213', '10': 'LB-0423'}
    >>> parse_element_string("https://example.org/01/09521234543213/10/LB-0423?15=271231")
    {'01': '09521234543213', '10': 'LB-0423', '15': '271231'}
    """
    text = strip_symbology(data)
    read = _reader(text)
    pairs = read(text)
    found: dict[str, str] = {}
    for ai, value in pairs:
        value = _checked(ai, value)
        if found.setdefault(ai, value) != value:
            raise RuleError(f"The code gives element ({ai}) twice, with different values.")
    if not found:
        raise RuleError("This is not a GS1 code.")
    return found


def gtin_and_lot(text: str) -> tuple[str, str | None] | None:
    """Return the 14-digit GTIN and the lot in a scanned text, or None when it holds no GTIN.

    Reads every form that `parse_element_string` reads, and a bare GTIN. Never raises, so that a
    scan box can try it on anything.

    >>> gtin_and_lot("(01)09521234543213(10)LB-0423"), gtin_and_lot("9521234543213")
    (('09521234543213', 'LB-0423'), ('09521234543213', None))
    >>> gtin_and_lot("calendula") is None
    True
    """
    try:
        return gtin14(strip_symbology(text)), None
    except RuleError:
        pass
    try:
        found = parse_element_string(text)
    except RuleError:
        return None
    gtin = found.get("01") or found.get("02")
    return (gtin, found.get("10")) if gtin else None


def _as_text(ai: str, value: str | date) -> str:
    if isinstance(value, date):
        return f"{value:%y%m%d}"
    return gtin14(value) if ai in ("01", "02") else value


def _checked(ai: str, value: str) -> str:
    """Return `value` if it is in the form that `ai` asks for."""
    element = ELEMENTS.get(ai)
    if element is None:
        raise RuleError(f"The code has an element ({ai}) that is not known here.")
    if not (DIGITS if element.digits_only else TEXT_82).match(value):
        raise RuleError(f"Element ({ai}) holds a character that a GS1 code cannot carry.")
    if (
        not value
        or len(value) > element.longest
        or (element.fixed and len(value) < element.longest)
    ):
        length = f"{element.longest}" if element.fixed else f"1 to {element.longest}"
        raise RuleError(
            f"Element ({ai}), {element.name}, must have {length} characters, not {len(value)}."
        )
    if element.check == "date":
        gs1_day(value)
    elif element.check == "key" and gtin_check_digit(value[:-1]) != value[-1]:
        raise RuleError(f"The check digit of element ({ai}) does not fit; scan the code again.")
    return value


def _reader(text: str) -> Callable[[str], list[tuple[str, str]]]:
    if LINK.match(text):
        return _link_pairs
    return _bracket_pairs if text.startswith("(") else _raw_pairs


def _link_pairs(text: str) -> list[tuple[str, str]]:
    try:
        address = urlsplit(text)
    except ValueError as error:
        raise RuleError("This is not a GS1 code.") from error
    steps = [unquote(step) for step in address.path.split("/")]
    if "01" not in steps:
        raise RuleError("This web address is not a GS1 Digital Link: it has no /01/.")
    steps = steps[steps.index("01") :]
    pairs = list(zip(steps[::2], steps[1::2], strict=False))
    places = [LINK_KEY_ORDER.index(ai) for ai, _ in pairs if ai in LINK_KEY_ORDER]
    if len(places) < len(pairs) or places != sorted(places):
        raise RuleError("A GS1 Digital Link has /01/, then /22/, /10/ and /21/ in this order.")
    pairs = [(ai, gtin14(value) if ai == "01" else value) for ai, value in pairs]
    return pairs + [pair for pair in parse_qsl(address.query) if pair[0] in ELEMENTS]


def _bracket_pairs(text: str) -> list[tuple[str, str]]:
    return [(ai, value.strip()) for ai, value in IN_BRACKETS.findall(text)]


def _raw_pairs(text: str) -> list[tuple[str, str]]:
    pairs = []
    rest = text.lstrip(FNC1)
    while rest:
        ai = next((rest[:size] for size in (2, 3, 4) if rest[:size] in ELEMENTS), None)
        if ai is None:
            raise RuleError("This is not a GS1 code, or it has an element not known here.")
        body = rest[len(ai) :]
        size = ELEMENTS[ai].longest if ELEMENTS[ai].fixed else (body + FNC1).index(FNC1)
        pairs.append((ai, body[:size]))
        rest = body[size:].removeprefix(FNC1)
    return pairs
