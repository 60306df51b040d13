"""The truth check: an approved label held against the lot that is about to wear it."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from typing import Literal

from workshop.rules.allergen_list import ALLERGENS
from workshop.rules.allergens import THRESHOLDS, Use
from workshop.rules.composition import Composition
from workshop.rules.dates import LONGEST_DATED_MONTHS, add_months, show_day
from workshop.rules.declaration import Declaration, Entry, Market, same_order_allowed
from workshop.rules.organic import Category, claim_problems, organic_standing
from workshop.rules.units import ceil_to, floor_to, show_mass, show_number

Way = Literal["order", "missing", "extra", "allergen", "organic", "date", "contents"]

# What a sticker headed "new ingredient list" mends, 21 CFR 701.3(n); the rest it does not.
IN_THE_LIST: frozenset[Way] = frozenset({"order", "missing", "extra", "allergen"})
CENTIGRAM = Decimal("0.01")
CLOSE = Fraction(1, 100)
STICKER_HEADING = "New ingredient list"
ALLERGEN_NAMES = frozenset(allergen.name.casefold() for allergen in ALLERGENS)


@dataclass(frozen=True)
class Difference:
    """One way in which the label would be untrue of the lot, in a sentence."""

    way: Way
    sentence: str

    @property
    def is_in_the_list(self) -> bool:
        return self.way in IN_THE_LIST


@dataclass(frozen=True, kw_only=True)
class Approved:
    """What an approved label states.

    `names` stand in their printed order; `may_contain` are colours only some batches hold.
    `promised_g` is the larger of the weights stated. `fixed_date` stands on the artwork itself,
    `keeps_months` is a shelf life stated in months; `opened_months` with neither means that only
    the months after opening are given.
    """

    market: Market
    names: tuple[str, ...]
    organic_names: frozenset[str] = frozenset()
    may_contain: frozenset[str] = frozenset()
    claim: Category | None = None
    organic_percent: int | None = None
    made_with: tuple[str, ...] = ()
    contents: str = ""
    promised_g: Fraction | None = None
    fixed_date: date | None = None
    keeps_months: int | None = None
    opened_months: int | None = None
    gives_only_opened_months: bool = False


@dataclass(frozen=True, kw_only=True)
class Found:
    """What is true of the lot: the list it would get today, and the figures behind it.

    `allergens` are those that must be named today, with their shares. `average_g` is what a unit
    of the run holds on average; `printed_until` the latest date on labels printed for the lot.
    """

    lot: str
    declaration: Declaration
    composition: Composition
    made_on: date
    best_before: date | None = None
    allergens: Mapping[str, Fraction] = field(default_factory=dict)
    use: Use = "leave-on"
    average_g: Fraction | None = None
    units: int = 0
    printed_until: date | None = None


def differences(approved: Approved, found: Found) -> tuple[Difference, ...]:
    """Return every way in which the approved label is untrue of the lot; none when it is true.

    A label that says less than it may (a lower organic category, a later date inside, an
    allergen named below its threshold, more filled in) is true.

    Units: shares are fractions of the whole, by weight at the time of addition; g; whole months.
    Error: none; shares and dates are compared exactly, and rounded only to be shown.
    Source: 21 CFR 701.3(a), (f), (g), (n); Regulation (EC) 1223/2009, article 19(1), with
        Regulation (EU) 2023/1545; 7 CFR 205.301, 205.302, 205.303; NIST Handbook 133, 2.3.3,
        for the weight that is tested. The local authority and the certifier have the last word.
    Raises: nothing.

    >>> from workshop.rules.composition import Constituent
    >>> from workshop.rules.declaration import declare
    >>> oil, wax = Constituent("Oil"), Constituent("Wax")
    >>> lot = {oil: Fraction(45, 100), wax: Fraction(55, 100)}
    >>> found = Found(lot="L", declaration=declare(lot, "US"), composition=lot,
    ...     made_on=date(2026, 11, 25))
    >>> for difference in differences(Approved(market="US", names=("Oil", "Wax")), found):
    ...     print(difference.sentence)
    The approved label lists Oil before Wax, and lot L holds more Wax (55 %) than Oil (45 %).
    """
    return (
        *_list_differences(approved, found),
        *_organic_differences(approved, found),
        *_date_differences(approved, found),
        *_contents_differences(approved, found),
    )


def _list_differences(approved: Approved, found: Found) -> Iterator[Difference]:
    entries = {entry.name: entry for entry in found.declaration.entries}
    for name in approved.names:
        if name not in entries and not _may_be_there(name, approved):
            yield Difference(
                "missing", f"The approved label names {name}, and lot {found.lot} holds none."
            )
    for entry in found.declaration.entries:
        if entry.name not in approved.names and entry.name not in approved.may_contain:
            yield _unnamed(entry, found)
    yield from _order_differences(approved, found, entries)


def _may_be_there(name: str, approved: Approved) -> bool:
    """Named without being in the lot: a colour of some batches, or an allergen below its limit."""
    is_allergen = approved.market == "EU" and name.casefold() in ALLERGEN_NAMES
    return is_allergen or name in approved.may_contain


def _unnamed(entry: Entry, found: Found) -> Difference:
    share = _percent(entry.share)
    if entry.name not in found.allergens:
        return Difference(
            "extra",
            f"Lot {found.lot} holds {entry.name} ({share}), and the approved label does not "
            "name it.",
        )
    limit = _percent(THRESHOLDS[found.use])
    return Difference(
        "allergen",
        f"Lot {found.lot} holds {share} of the allergen {entry.name}, above the {limit} from "
        f"which a {found.use} product must name it, and the approved label does not.",
    )


def _order_differences(
    approved: Approved, found: Found, entries: Mapping[str, Entry]
) -> Iterator[Difference]:
    """Each neighbour in the printed list that stands before one it must follow."""
    printed = [name for name in approved.names if name in entries]
    held = replace(found.declaration, entries=tuple(entries[name] for name in printed))
    if same_order_allowed(printed, held):
        return
    wrong = [pair for pair in pairwise(printed) if not _may_follow(pair, held, entries)]
    for first, second in wrong:
        more, less = _percents(entries[second].share, entries[first].share)
        yield Difference(
            "order",
            f"The approved label lists {first} before {second}, and lot {found.lot} holds more "
            f"{second} ({more}) than {first} ({less}).",
        )
    if not wrong:
        # No two neighbours are wrong by themselves: a colour stands between the two that are.
        right = ", ".join(entry.name for entry in found.declaration.entries)
        yield Difference("order", f"By weight, lot {found.lot} must be listed as {right}.")


def _may_follow(pair: tuple[str, str], held: Declaration, entries: Mapping[str, Entry]) -> bool:
    return same_order_allowed(pair, replace(held, entries=tuple(entries[name] for name in pair)))


def _organic_differences(approved: Approved, found: Found) -> Iterator[Difference]:
    said = f'The approved label says "{approved.claim}".'
    if approved.claim and approved.claim not in ("none", "below 70"):
        for problem in claim_problems(found.composition, approved.claim):
            yield Difference("organic", f"{said} {problem}")
    percent = organic_standing(found.composition).percent
    if approved.organic_percent is not None and approved.organic_percent > percent:
        yield Difference(
            "organic",
            f"The approved label states {approved.organic_percent} % organic ingredients, and "
            f"lot {found.lot} has {percent} %.",
        )
    entries = {entry.name: entry for entry in found.declaration.entries}
    for name in approved.names:
        if name in approved.organic_names and name in entries and not entries[name].is_organic:
            yield Difference(
                "organic",
                f"The approved label marks {name} as organic, and in lot {found.lot} not all of "
                "it is.",
            )
    for name in approved.made_with:
        if not _is_organic(name, found.composition):
            yield Difference(
                "organic",
                f"The approved label says it is made with organic {name}, and lot {found.lot} "
                f"holds no organic {name}.",
            )


def _is_organic(name: str, composition: Composition) -> bool:
    wanted = name.casefold()
    return any(
        part.is_organic and wanted in (part.inci_name.casefold(), part.common_name.casefold())
        for part, share in composition.items()
        if share
    )


def _date_differences(approved: Approved, found: Found) -> Iterator[Difference]:
    until = found.best_before
    if until is None:
        return
    keeps = f"and lot {found.lot} keeps only to {show_day(until)}."
    if approved.fixed_date and until < approved.fixed_date:
        yield Difference(
            "date", f"The approved label is printed with {show_day(approved.fixed_date)}, {keeps}"
        )
    if approved.keeps_months:
        stated = add_months(found.made_on, approved.keeps_months)
        if until < stated:
            yield Difference(
                "date",
                f"The approved label says it keeps {approved.keeps_months} months, which from "
                f"{show_day(found.made_on)} is to {show_day(stated)}, {keeps}",
            )
    if found.printed_until and until < found.printed_until:
        yield Difference(
            "date", f"Labels already printed for it say {show_day(found.printed_until)}, {keeps}"
        )
    if approved.market == "EU" and approved.gives_only_opened_months and _needs_a_date(found):
        yield Difference(
            "date",
            f"The approved label gives only the months after opening ({approved.opened_months}M), "
            f"which the EU allows above 30 months, {keeps}",
        )


def _needs_a_date(found: Found) -> bool:
    return not durability_needs_jar(found.made_on, found.best_before)


def _contents_differences(approved: Approved, found: Found) -> Iterator[Difference]:
    promised, average = approved.promised_g, found.average_g
    if promised is None or average is None or average >= promised:
        return
    holds, short = floor_to(average, CENTIGRAM), ceil_to(promised - average, CENTIGRAM)
    yield Difference(
        "contents",
        f"The approved label says {approved.contents}, which promises "
        f"{show_mass(ceil_to(promised, CENTIGRAM))}; the {found.units} units of this run hold "
        f"{show_mass(holds)} on average, {show_mass(short)} short.",
    )


def _percent(share: Fraction) -> str:
    """A share in per cent with as many decimals as keep two of its digits."""
    steps = (Decimal(1).scaleb(-places) for places in (4, 6, 8))
    step = next(
        (step for step in steps if share * 100 >= 10 * Fraction(step)), Decimal("0.00000001")
    )
    return f"{_plain(show_number(share * 100, step))} %"


def _percents(more: Fraction, less: Fraction) -> tuple[str, str]:
    """Two shares with enough decimals to be told apart."""
    for places in ("0.01", "0.0001", "0.000001", "0.0000000001"):
        shown = [_plain(show_number(each * 100, Decimal(places))) for each in (more, less)]
        if shown[0] != shown[1]:
            break
    return f"{shown[0]} %", f"{shown[1]} %"


def _plain(text: str) -> str:
    return text.rstrip("0").rstrip(".") if "." in text else text


def covered_by(differences: Iterable[Difference], sentences: Iterable[str]) -> bool:
    """Say whether each difference is one that was decided about, word for word.

    >>> covered_by([Difference("order", "A.")], ["A.", "B."])
    True
    >>> covered_by([Difference("order", "A."), Difference("extra", "C.")], ["A.", "B."])
    False
    """
    decided = set(sentences)
    return all(difference.sentence in decided for difference in differences)


def close_neighbours(declaration: Declaration) -> list[str]:
    """Return a sentence for each two neighbours in a list whose order weighing will turn over.

    Those are ingredients above the any-order group whose shares differ by under 1 % of the
    greater one, so that another lot may well hold more of the second.

    Units: fractions of the whole. Error: none.
    Source: common practice, no source: a weighing is rarely better than 1 % of its weight.
    Raises: nothing.

    >>> from workshop.rules.composition import Constituent
    >>> from workshop.rules.declaration import declare
    >>> parts = {Constituent("Oil"): Fraction(504, 1000), Constituent("Wax"): Fraction(496, 1000)}
    >>> close_neighbours(declare(parts, "US"))
    []
    >>> parts = {Constituent("Oil"): Fraction(502, 1000), Constituent("Wax"): Fraction(498, 1000)}
    >>> close_neighbours(declare(parts, "US"))[0][:63]
    'Oil (50.2 %) and Wax (49.8 %) are so close that their order may'
    """
    main = [entry for entry in declaration.entries if entry.group == "main"]
    close = [
        (first, second)
        for first, second in pairwise(main)
        if first.share - second.share < first.share * CLOSE
    ]
    return [_close_sentence(first, second) for first, second in close]


def _close_sentence(first: Entry, second: Entry) -> str:
    more, less = _percents(first.share, second.share)
    return (
        f"{first.name} ({more}) and {second.name} ({less}) are so close that their order may turn "
        "over from lot to lot, and the label would then be untrue. Set their shares in the formula "
        "further apart."
    )


def durability_needs_jar(made_on: date, best_before: date | None) -> bool:
    """Say whether the open jar with months replaces the date: it keeps above 30 months (EU).

    Units: days. Error: none. Source: Regulation (EC) 1223/2009, article 19(1)(c).
    Raises: nothing.

    >>> durability_needs_jar(date(2026, 1, 31), date(2028, 7, 31))
    False
    >>> durability_needs_jar(date(2026, 1, 31), date(2028, 8, 1))
    True
    """
    return best_before is None or best_before > add_months(made_on, LONGEST_DATED_MONTHS)
