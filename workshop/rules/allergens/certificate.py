"""Reading the allergens of a certificate of analysis as they are typed or pasted."""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from workshop.rules.allergens.names import listed_name, near_names
from workshop.rules.allergens.thresholds import find_allergens, prohibited_name
from workshop.rules.errors import RuleError
from workshop.rules.quantities.units import parse_number, round_to, show_number

# Each unit as a share of one per cent.
UNITS = {
    unit: Fraction(size)
    for size, units in {
        "1": ["", "%", "%w/w", "%m/m", "w/w%", "percent"],
        "1/10": ["g/kg", "mg/g", "‰"],
        "1/10000": ["ppm", "mg/kg", "µg/g", "ug/g"],
        "1/10000000": ["ppb", "µg/kg", "ug/kg"],
    }.items()
    for unit in units
}
CAS = re.compile(r"(?<![0-9])[0-9]{2,7}-[0-9]{2}-[0-9](?![0-9])")
IN_HUNDRED = re.compile(r"\bg\s*/\s*100\s*g\b", re.IGNORECASE)
NUMBER = r"[0-9]{1,3}(?:[ \u00a0\u2009\u202f'][0-9]{3})+(?:[.,][0-9]+)?|[0-9][0-9.,]*|[.,][0-9]+"
FIGURE = re.compile(
    rf"(?P<name>.*?)(?:^|(?<=[\s:;=|<≤(\[.])|(?<=[0-9][-–]))(?P<figure>{NUMBER})\s*(?P<unit>[^0-9]*)$"
)
ABSENT = re.compile(
    r"(?P<name>.*?)[\s:;=|(]+(?:n\.?\s?d\.?|not detected|none detected|absent|none|-|–|—)[\s)]*$",
    re.IGNORECASE,
)
BOUND = re.compile(r"(?:[<≤]|\bless than|\bbelow|\bmax\.?|\bat most)\s*$", re.IGNORECASE)
AROUND = " \t:;,|=*†."
# A point before three figures may part thousands, as much of Europe writes them.
GROUPED = re.compile(r"[1-9][0-9]{0,2}\.[0-9]{3}")
MOST_LINES = 200
ANOTHER_FIGURE = re.compile(r"(?:^|\s)[<≤]?\s*[0-9][0-9.,]*\s*(?:%|ppm|mg/kg)?\s*[-–—/]?$")
# The book keeps four decimals of a per cent: one milligram in a kilogram.
FINEST = Decimal("0.0001")


@dataclass(frozen=True)
class Content:
    """One line of a certificate: a name or CAS number that the list knows, and per cent of it."""

    name: str
    percent: Decimal


@dataclass(frozen=True)
class AllergenCertificate:
    """What was read: `percents` by name, what is not on the list, and every odd line told."""

    percents: Mapping[str, Decimal] = field(default_factory=dict)
    not_listed: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()


def read_certificate(text: str) -> AllergenCertificate:
    """Read the allergens of a certificate, one per line: a name or CAS number, then a figure.

    The figure is per cent unless a unit stands behind it (%, mg/kg, ppm, g/kg); "less than" is
    taken at the figure itself, "not detected" as nothing. What is no allergen of the list is set
    apart, unless it is close to one.

    Units: per cent of the material. Error: none; what is finer than 1 mg/kg is refused.
    Source: names as in `allergen_list`. Raises: nothing: odd lines are told in `faults`.

    >>> read_certificate("Limonene 0,12 %\\nα-pinene: 250 mg/kg").percents
    {'Limonene': Decimal('0.1200'), 'alpha-Pinene': Decimal('0.0250')}
    >>> read_certificate("Limonene").faults
    ('Line 1: “Limonene” must end with a figure, such as 0.12 % or 1200 mg/kg.',)
    """
    seen: dict[str, int] = {}
    percents: dict[str, Decimal] = {}
    faults: list[str] = []
    apart: list[str] = []
    lines = text.splitlines()
    if len(lines) > MOST_LINES:
        return AllergenCertificate(
            faults=(f"That is more than {MOST_LINES} lines. Leave out the rest.",)
        )
    for number, line in enumerate(lines, 1):
        if not line.strip(AROUND + "-–—_"):
            continue
        try:
            content = read_line(line)
            _refuse_double(content.name, seen)
        except NotListedError as error:
            apart.append(error.name)
        except RuleError as error:
            faults.append(f"Line {number}: {error}")
        else:
            seen[content.name], percents[content.name] = number, content.percent
    return AllergenCertificate(percents, tuple(apart), (*faults, *_about_all(percents)))


class NotListedError(RuleError):
    """A line whose name is on no list and close to none."""

    def __init__(self, name: str) -> None:
        super().__init__(f"“{name}” is not on the EU list of allergens.")
        self.name = name


def read_line(line: str) -> Content:
    """Read one line of a certificate.

    Units: per cent. Error: none. Source: as `read_certificate`.
    Raises: NotListedError, a RuleError, for a name that is not on the list; RuleError for a line
        that cannot be read.

    >>> read_line("5989-27-5  d-Limonene  < 100 ppm")
    Content(name='d-Limonene', percent=Decimal('0.0100'))
    """
    numbers = CAS.findall(line)
    rest = IN_HUNDRED.sub("%", re.sub(r"\(\s*\)|\[\s*\]", " ", CAS.sub(" ", line))).strip()
    name, percent = _figure(rest, _short(line))
    name = " ".join(BOUND.sub("", name.rstrip(AROUND + "([")).split()).strip(AROUND)
    return Content(_name(name, numbers, _short(line)), percent)


def _short(line: str) -> str:
    tidy = " ".join(line.split())
    return tidy if len(tidy) <= 60 else f"{tidy[:59]}…"


def _figure(rest: str, shown: str) -> tuple[str, Decimal]:
    absent = ABSENT.fullmatch(rest)
    if absent:
        return absent["name"], Decimal(0)
    found = FIGURE.fullmatch(rest)
    if not found:
        raise RuleError(f"“{shown}” must end with a figure, such as 0.12 % or 1200 mg/kg.")
    return found["name"], _percent(found["figure"], found["unit"], shown)


def _percent(figure: str, unit: str, shown: str) -> Decimal:
    bare = re.sub(r"[\s()\[\]]|\.$", "", unit.strip(" \t*†;|")).lower().replace("μ", "µ")
    if bare not in UNITS:
        raise RuleError(
            f"“{shown}”: “{unit.strip()}” is not a unit for a share. Write %, mg/kg, ppm or g/kg."
        )
    closed = re.sub(r"[ \u00a0\u2009\u202f']", "", figure).rstrip(".,")
    percent = parse_number(closed) * UNITS[bare]
    _refuse_two_readings(closed, percent, shown)
    if percent > 100:
        raise RuleError(f"“{shown}” is more than the whole: at most 100 %.")
    kept = round_to(percent, FINEST)
    if kept != percent:
        up = show_number(percent + Fraction(FINEST) / 2, FINEST)
        raise RuleError(
            f"“{shown}” is finer than the book keeps (0.0001 %, which is 1 mg/kg). Round it up, "
            f"to {up} %."
        )
    return kept


def _refuse_two_readings(figure: str, percent: Fraction, shown: str) -> None:
    """A point that may part thousands is asked back, unless they were more than the whole."""
    if GROUPED.fullmatch(figure) and percent * 1000 <= 100:
        decimal = figure.rstrip("0").rstrip(".")
        raise RuleError(
            f"“{shown}”: {figure} can mean {decimal} or {figure.replace('.', '')}. Type the one "
            "you mean."
        )


def _name(name: str, numbers: Iterable[str], shown: str) -> str:
    """The name that the list knows: the one written, else that of the CAS number."""
    by_number = {entry.name for cas in numbers for entry in find_allergens(cas)}
    by_number |= {banned for cas in numbers if (banned := prohibited_name(cas))}
    listed = listed_name(name)
    if listed:
        own = {entry.name for entry in find_allergens(listed)} or {listed}
        if by_number and not own & by_number:
            raise RuleError(
                f"“{shown}”: the CAS number is that of {_either(by_number)}, not of {name}. "
                "Look at the certificate again."
            )
        return listed
    if len(by_number) > 1:
        raise RuleError(f"“{shown}” can mean {_either(by_number)}. Write the name instead.")
    if by_number:
        return next(iter(by_number))
    raise _unknown(name, shown)


def _unknown(name: str, shown: str) -> RuleError:
    if not name:
        return RuleError(f"“{shown}” names nothing. Write the name or CAS number first.")
    if ANOTHER_FIGURE.search(name):
        return RuleError(f"“{shown}” has more than one figure. Keep the one found, or the highest.")
    near = near_names(name)
    if near:
        either = " or ".join(near)
        return RuleError(
            f"“{name}” is not on the EU list of allergens. Did you mean {either}? If it is "
            "something else, take the line out."
        )
    return NotListedError(name)


def _either(names: Iterable[str]) -> str:
    return " or ".join(sorted(names))


def _refuse_double(name: str, seen: Mapping[str, int]) -> None:
    if name in seen:
        raise RuleError(f"{name} is there already, in line {seen[name]}.")


def _about_all(percents: Mapping[str, Decimal]) -> Iterator[str]:
    """What no single line shows: an entry given whole and in parts, or more than there is."""
    parts: dict[str, list[str]] = {}
    for name in percents:
        for entry in find_allergens(name):
            parts.setdefault(entry.name, []).append(name)
    for whole, names in parts.items():
        if whole in names and len(names) > 1:
            others = ", ".join(name for name in names if name != whole)
            yield (
                f"{whole} is given as a whole and again as {others}, which would count twice. "
                "Keep the whole or its parts."
            )
    total = sum(percents.values(), Decimal(0))
    if total > 100:
        yield f"Together they come to {total.normalize():f} %, more than there is."
