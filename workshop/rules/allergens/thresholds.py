"""Fragrance allergens from the essential oils, against the EU thresholds."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from workshop.rules.allergens.annex_iii import ALLERGENS, Allergen
from workshop.rules.allergens.names import listed_name
from workshop.rules.allergens.prohibited_scents import PROHIBITED
from workshop.rules.errors import RuleError
from workshop.rules.quantities.units import Exact, show_number

Use = Literal["leave-on", "rinse-off"]

# Regulation (EU) 2023/1545: named when MORE than this share of the finished product.
THRESHOLDS: dict[Use, Fraction] = {
    "leave-on": Fraction(1, 100_000),
    "rinse-off": Fraction(1, 10_000),
}
LAST_PLACED_ON_OLD_LIST = date(2026, 7, 31)
LAST_SOLD_ON_OLD_LIST = date(2028, 7, 31)
LONGER_LIST_FROM = date(2026, 8, 1)
# Of the revised entries, those that had to be named before 2023 too.
IN_BRACKETS = re.compile(r"\([^()]*\)")
NAMED_BEFORE = {45, 70, 73, 86, 88}
CAUTION = (
    "Computed from the contents given for each oil; in a soap the lye destroys some of them, so "
    "this is the most there can be. A qualified safety assessor has the last word."
)


def _key(name: str) -> str:
    """A name without case and without the common name that may stand in brackets in it."""
    return " ".join(IN_BRACKETS.sub(" ", name).casefold().split())


def _by_key() -> dict[str, list[Allergen]]:
    index: dict[str, list[Allergen]] = {}
    for allergen in ALLERGENS:
        keys = {_key(key) for key in (allergen.name, *allergen.aliases, *allergen.cas)}
        for key in keys:
            index.setdefault(key, []).append(allergen)
    return index


BY_KEY = _by_key()
BANNED = {_key(key): name for name, one in PROHIBITED.items() for key in (name, *one.cas)}


@dataclass(frozen=True)
class FragranceMaterial:
    """An oil in a product: its share of the product, and the share of each component in the oil.

    Components go by label name, component name ("Geranial") or CAS number; `name` is the oil's
    own INCI name, since some oils are named as such.
    """

    name: str
    share: Exact
    content: Mapping[str, Exact] = field(default_factory=dict)


def find_allergens(key: str) -> tuple[Allergen, ...]:
    """Return the entries that a name or CAS number stands for; a few CAS numbers stand for two.

    An INCI name may carry its common name in brackets, as US lists do; names of the trade are
    led to their entry.

    >>> [allergen.name for allergen in find_allergens("Neral")]
    ['Citral']
    >>> [allergen.name for allergen in find_allergens("Citrus Limon (Lemon) Peel Oil")]
    ['Citrus Limon Peel Oil']
    >>> [allergen.name for allergen in find_allergens("8028-48-6")]
    ['Citrus Aurantium Flower Oil', 'Citrus Aurantium Peel Oil']
    """
    return tuple(BY_KEY.get(_key(key)) or BY_KEY.get(_key(listed_name(key) or "")) or ())


def prohibited_name(key: str) -> str | None:
    """Return the scent of Annex II that a name or CAS number stands for, if any.

    Units: none. Error: none. Source: `prohibited_scents`. Raises: nothing.

    >>> prohibited_name("Lilial"), prohibited_name("31906-04-4"), prohibited_name("Linalool")
    ('Butylphenyl Methylpropional', 'Hydroxyisohexyl 3-Cyclohexene Carboxaldehyde', None)
    """
    return BANNED.get(_key(key)) or BANNED.get(_key(listed_name(key) or ""))


def allergen_shares(materials: Iterable[FragranceMaterial]) -> dict[str, Fraction]:
    """Return the share of each allergen in the finished product, summed over all materials.

    All that counts under one entry is one name: geranial and neral are Citral. What is not on
    the list is passed over, and so is what was looked for and not found.

    Units: fractions (of the product, of the oil). Error: none.
    Source: Regulation (EU) 2023/1545; see `CAUTION`.
    Raises: RuleError for a prohibited substance, a CAS number that stands for two entries, or a
        share outside 0 to 1.

    >>> oils = [FragranceMaterial("Lemon", Fraction(1, 50), {"Geranial": Fraction(1, 100)})]
    >>> allergen_shares(oils)
    {'Citral': Fraction(1, 5000)}
    """
    totals: dict[str, Fraction] = {}
    for material in materials:
        parts: dict[str, Exact] = {material.name: 1, **material.content}
        for key, content in parts.items():
            if not (0 <= content <= 1 and 0 <= material.share <= 1):
                raise RuleError(f"The share of {key} in {material.name} must be from 0 to 100 %.")
            if not content:
                continue
            allergen = _one_entry(key)
            if allergen is not None:
                share = Fraction(material.share) * Fraction(content)
                totals[allergen.name] = totals.get(allergen.name, Fraction()) + share
    return {name: share for name, share in totals.items() if share}


def allergens_to_name(
    shares: Mapping[str, Fraction],
    use: Use,
    placed_on: date,
    *,
    oral: bool = False,
    longer_list_from: date | None = LONGER_LIST_FROM,
) -> dict[str, Fraction]:
    """Return the allergens that the label must name, greatest share first.

    Named is what exceeds the threshold, not what equals it. Up to 31 July 2026 only the names
    of the earlier list are asked for; `longer_list_from` is the day by the law of the market, None
    where the earlier list holds on.

    Units: fractions of the finished product; `placed_on` is the day on the market.
    Error: none. Source: Regulation (EU) 2023/1545: above 0.001 % leave-on, 0.01 % rinse-off.
    Raises: nothing.

    >>> shares = {"Linalool": Fraction(1, 10_000), "Limonene": Fraction(1, 100_000)}
    >>> list(allergens_to_name(shares, "leave-on", date(2026, 12, 1)))
    ['Linalool']
    """
    listed = asked_for(placed_on, longer_list_from=longer_list_from)
    asked = {allergen.name for allergen in listed if oral or not allergen.oral_only}
    over = {n: s for n, s in shares.items() if n in asked and s > THRESHOLDS[use]}
    return dict(sorted(over.items(), key=lambda item: (-item[1], item[0])))


@dataclass(frozen=True)
class Naming:
    """The share of one allergen before and after a change, against the threshold of its use."""

    name: str
    before: Fraction
    after: Fraction
    threshold: Fraction
    is_asked: bool = True

    @property
    def was_named(self) -> bool:
        return self.is_asked and self.before > self.threshold

    @property
    def is_named(self) -> bool:
        return self.is_asked and self.after > self.threshold


def namings(
    before: Mapping[str, Fraction],
    after: Mapping[str, Fraction],
    use: Use,
    placed_on: date,
) -> list[Naming]:
    """Return every allergen there is before or after a change, greatest share after first.

    Units: fractions of the finished product. Error: none. Source: as `allergens_to_name`.
    Raises: nothing.

    >>> none, some = {}, {"Linalool": Fraction(2, 100_000)}
    >>> [(one.was_named, one.is_named) for one in namings(none, some, "leave-on", date.max)]
    [(False, True)]
    """
    asked = {allergen.name for allergen in asked_for(placed_on) if not allergen.oral_only}
    none = Fraction()
    found = [
        Naming(name, before.get(name, none), after.get(name, none), THRESHOLDS[use], name in asked)
        for name in {*before, *after}
    ]
    return sorted(found, key=lambda one: (-one.after, -one.before, one.name))


def naming_sentences(changes: Iterable[Naming], use: Use) -> list[str]:
    """Return which allergens pass the threshold with a change, and which fall below it.

    Units: none. Error: none. Source: as `allergens_to_name`. Raises: nothing.

    >>> up = Naming("Linalool", Fraction(), Fraction(2, 100_000), THRESHOLDS["leave-on"])
    >>> naming_sentences([up], "leave-on")
    ['Linalool passes 0.001 % (leave-on): an EU label must then name it.']
    """
    changes = list(changes)
    limit = f"{show_number(THRESHOLDS[use] * 100, Decimal('0.0001')).rstrip('0')} % ({use})"
    up = [one.name for one in changes if one.is_named and not one.was_named]
    down = [one.name for one in changes if one.was_named and not one.is_named]
    told = []
    if up:
        verb, whom = ("passes", "it") if len(up) == 1 else ("pass", "them")
        told.append(f"{_and(up)} {verb} {limit}: an EU label must then name {whom}.")
    if down:
        verb, whom = ("no longer passes", "it") if len(down) == 1 else ("no longer pass", "them")
        told.append(f"{_and(down)} {verb} {limit}: an EU label need not name {whom} then.")
    return told


def _and(names: list[str]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]]) if len(names) > 1 else names[0]


def asked_for(
    placed_on: date, *, longer_list_from: date | None = LONGER_LIST_FROM
) -> tuple[Allergen, ...]:
    """Return the entries that a product placed on the market that day must name.

    Source: Regulation (EU) 2023/1545, transition to 31 July 2026; another market has its own day
        or, with None, keeps the earlier list.

    >>> len(asked_for(date(2026, 7, 31))), len(asked_for(date(2026, 8, 1)))
    (24, 81)
    """
    if longer_list_from is not None and placed_on >= longer_list_from:
        return ALLERGENS
    return tuple(a for a in ALLERGENS if a.standing == "old" or a.number in NAMED_BEFORE)


def old_list_may_be_sold(placed_on: date, sold_on: date) -> bool:
    """Say whether a product labelled by the earlier list may still be sold on a day.

    Source: Regulation (EU) 2023/1545: placed by 31 July 2026, sold by 31 July 2028.

    >>> old_list_may_be_sold(date(2026, 7, 30), date(2028, 7, 31))
    True
    """
    return placed_on <= LAST_PLACED_ON_OLD_LIST and sold_on <= LAST_SOLD_ON_OLD_LIST


def allergen_limit_problems(shares: Mapping[str, Fraction]) -> list[str]:
    """Return where an allergen exceeds the limit its own entry sets, as sentences.

    Units: fractions of the finished product. Error: none.
    Source: Annex III, second-hand. Raises: nothing.

    >>> allergen_limit_problems({"Methyl 2-Octynoate": Fraction(2, 10_000)})
    ['Methyl 2-Octynoate would be 0.0200 % of the product, and 0.01 % is the most allowed.']
    """
    return [
        f"{allergen.name} would be {show_number(share * 100, Decimal('0.0001'))} % of the product, "
        f"and {allergen.most_percent} % is the most allowed."
        for name, share in shares.items()
        for allergen in find_allergens(name)
        if allergen.most_percent is not None and share * 100 > Fraction(allergen.most_percent)
    ]


def _one_entry(key: str) -> Allergen | None:
    banned = prohibited_name(key)
    if banned:
        raise RuleError(f"{banned} is prohibited in cosmetics. Do not use this material.")
    found = find_allergens(key)
    if len(found) > 1:
        names = " or ".join(allergen.name for allergen in found)
        raise RuleError(f"CAS number {key} can mean {names}. Enter the name instead.")
    return found[0] if found else None
