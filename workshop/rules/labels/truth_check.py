"""The truth check: an approved label held against the lot that is about to wear it."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal
from itertools import pairwise

from workshop.rules.allergens.annex_iii import ALLERGENS
from workshop.rules.allergens.thresholds import THRESHOLDS
from workshop.rules.dates.best_before import LONGEST_DATED_MONTHS
from workshop.rules.dates.calendar_days import add_months, show_day
from workshop.rules.ingredients.composition import Composition
from workshop.rules.ingredients.declaration import (
    Declaration,
    DeclaredIngredient,
    same_order_allowed,
)
from workshop.rules.ingredients.names.by_market import same_ingredient_key
from workshop.rules.ingredients.organic_share import claim_problems, organic_classification
from workshop.rules.labels.share_wording import percent, percents
from workshop.rules.labels.stated_and_found import Approved, Difference, LotFactsFound
from workshop.rules.markets.laws import law_of
from workshop.rules.quantities.units import ceil_to, floor_to, show_mass

CENTIGRAM = Decimal("0.01")
STICKER_HEADING = "New ingredient list"
ALLERGEN_NAMES = frozenset(allergen.name.casefold() for allergen in ALLERGENS)


def differences(approved: Approved, found: LotFactsFound) -> tuple[Difference, ...]:
    """Return every way in which the approved label is untrue of the lot; none when it is true.

    A label that says less than it may (a lower organic category, a later date inside, an
    allergen named below its threshold, more filled in) is true.

    Units: shares are fractions of the whole, by weight at the time of addition; g; whole months.
    Error: none; shares and dates are compared exactly, and rounded only to be shown.
    Source: 21 CFR 701.3(a), (f), (g), (n); Regulation (EC) 1223/2009, article 19(1), with
        Regulation (EU) 2023/1545; 7 CFR 205.301, 205.302, 205.303; NIST Handbook 133, 2.3.3,
        for the weight that is tested. The local authority and the certifier have the last word.
    Raises: nothing.

    >>> from fractions import Fraction
    >>> from workshop.rules.ingredients.composition import Constituent
    >>> from workshop.rules.ingredients.declaration import declare
    >>> oil, wax = Constituent("Oil"), Constituent("Wax")
    >>> lot = {oil: Fraction(45, 100), wax: Fraction(55, 100)}
    >>> found = LotFactsFound(lot="L", declaration=declare(lot, "US"), composition=lot,
    ...     made_on=date(2026, 11, 25))
    >>> for difference in differences(Approved(market="US", names=("Oil", "Wax")), found):
    ...     print(difference.sentence)
    The approved label lists Oil before Wax, and lot L holds more Wax (55 %) than Oil (45 %).
    """
    approved = _in_names_of(found.declaration, approved)
    return (
        *_list_differences(approved, found),
        *_organic_differences(approved, found),
        *_date_differences(approved, found),
        *_contents_differences(approved, found),
    )


def _in_names_of(declaration: Declaration, approved: Approved) -> Approved:
    """The approved label with each ingredient by the name that the list of today gives it.

    A dictionary of names changes, and what is in the tin does not: another name of the same
    ingredient makes no label untrue.
    """
    today = {same_ingredient_key(entry.name): entry.name for entry in declaration.entries}

    def named(name: str) -> str:
        return today.get(same_ingredient_key(name), name)

    return replace(
        approved,
        names=tuple(map(named, approved.names)),
        organic_names=frozenset(map(named, approved.organic_names)),
        may_contain=frozenset(map(named, approved.may_contain)),
    )


def _list_differences(approved: Approved, found: LotFactsFound) -> Iterator[Difference]:
    entries = {entry.name: entry for entry in found.declaration.entries}
    for name in approved.names:
        if name not in entries and not _may_be_there(name, approved):
            yield Difference(
                "missing", f"The {approved.called} names {name}, and {found.it} holds none."
            )
    for entry in found.declaration.entries:
        if entry.name not in approved.names and entry.name not in approved.may_contain:
            yield _unnamed(entry, approved, found)
    yield from _order_differences(approved, found, entries)


def _may_be_there(name: str, approved: Approved) -> bool:
    """Named without being in the lot: a colour of some batches, or an allergen below its limit."""
    is_allergen = law_of(approved.market).names_allergens and name.casefold() in ALLERGEN_NAMES
    return is_allergen or name in approved.may_contain


def _unnamed(entry: DeclaredIngredient, approved: Approved, found: LotFactsFound) -> Difference:
    share = percent(entry.share)
    if entry.name not in found.allergens:
        return Difference(
            "extra",
            f"{found.capital} holds {entry.name} ({share}), and the {approved.called} does not "
            "name it.",
        )
    limit = percent(THRESHOLDS[found.use])
    return Difference(
        "allergen",
        f"{found.capital} holds {share} of the allergen {entry.name}, above the {limit} from "
        f"which a {found.use} product must name it, and the {approved.called} does not.",
    )


def _order_differences(
    approved: Approved, found: LotFactsFound, entries: Mapping[str, DeclaredIngredient]
) -> Iterator[Difference]:
    """Each neighbour in the printed list that stands before one it must follow."""
    printed = [name for name in approved.names if name in entries]
    held = replace(found.declaration, entries=tuple(entries[name] for name in printed))
    if same_order_allowed(printed, held):
        return
    wrong = [pair for pair in pairwise(printed) if not _may_follow(pair, held, entries)]
    for first, second in wrong:
        more, less = percents(entries[second].share, entries[first].share)
        yield Difference(
            "order",
            f"The {approved.called} lists {first} before {second}, and {found.it} holds more "
            f"{second} ({more}) than {first} ({less}).",
        )
    if not wrong:
        # No two neighbours are wrong by themselves: a colour stands between the two that are.
        right = ", ".join(entry.name for entry in found.declaration.entries)
        yield Difference("order", f"By weight, {found.it} must be listed as {right}.")


def _may_follow(
    pair: tuple[str, str], held: Declaration, entries: Mapping[str, DeclaredIngredient]
) -> bool:
    return same_order_allowed(pair, replace(held, entries=tuple(entries[name] for name in pair)))


def _organic_differences(approved: Approved, found: LotFactsFound) -> Iterator[Difference]:
    sentences = (
        *_claim_sentences(approved, found),
        *_mark_sentences(approved, found),
        *_certifier_sentences(approved, found),
    )
    return (Difference("organic", sentence) for sentence in sentences)


def _claim_sentences(approved: Approved, found: LotFactsFound) -> Iterator[str]:
    if approved.claim and approved.claim not in ("none", "below 70"):
        for problem in claim_problems(found.composition, approved.claim, found.limits):
            yield f'The {approved.called} says "{approved.claim}". {problem}'
    held = organic_classification(found.composition).percent
    if approved.organic_percent is not None and approved.organic_percent > held:
        yield (
            f"The {approved.called} states {approved.organic_percent} % organic ingredients, and "
            f"{found.it} has {held} %."
        )


def _mark_sentences(approved: Approved, found: LotFactsFound) -> Iterator[str]:
    entries = {entry.name: entry for entry in found.declaration.entries}
    for name in approved.names:
        if name in approved.organic_names and name in entries and not entries[name].is_organic:
            yield (
                f"The {approved.called} marks {name} as organic, and in {found.it} not all "
                "of it is."
            )
    for name in approved.made_with:
        if not _is_organic(name, found.composition):
            yield (
                f"The {approved.called} says it is made with organic {name}, and {found.it} "
                f"holds no organic {name}."
            )


def _certifier_sentences(approved: Approved, found: LotFactsFound) -> Iterator[str]:
    if approved.certifier_line and approved.certifier_line != found.certifier_line:
        now = f"“{found.certifier_line}”" if found.certifier_line else "no certifier"
        yield (
            f"The {approved.called} says “{approved.certifier_line}”, and Set-up now gives {now} "
            "for the workshop."
        )


def _is_organic(name: str, composition: Composition) -> bool:
    wanted = name.casefold()
    return any(
        part.is_organic and wanted in (part.inci_name.casefold(), part.common_name.casefold())
        for part, share in composition.items()
        if share
    )


def _date_differences(approved: Approved, found: LotFactsFound) -> Iterator[Difference]:
    return (Difference("date", sentence) for sentence in _date_sentences(approved, found))


def _date_sentences(approved: Approved, found: LotFactsFound) -> Iterator[str]:
    until = found.best_before
    keeps = (
        f"and {found.it} keeps only to {show_day(until)}."
        if until
        else f"and nothing says how long {found.it} keeps."
    )
    if approved.fixed_date and _ends_before(until, approved.fixed_date):
        yield f"The {approved.called} is printed with {show_day(approved.fixed_date)}, {keeps}"
    if approved.keeps_months:
        stated = add_months(found.made_on, approved.keeps_months)
        if _ends_before(until, stated):
            yield (
                f"The {approved.called} says it keeps {approved.keeps_months} months, which from "
                f"{show_day(found.made_on)} is to {show_day(stated)}, {keeps}"
            )
    if found.dated and _ends_before(until, found.dated):
        yield f"The lot is dated {show_day(found.dated)}, {keeps}"
    if found.printed_until and _ends_before(until, found.printed_until):
        yield f"Labels already printed for it say {show_day(found.printed_until)}, {keeps}"
    is_jar_alone = law_of(approved.market).has_open_jar and approved.gives_only_opened_months
    if is_jar_alone and _needs_a_date(found):
        yield (
            f"The {approved.called} gives only the months after opening "
            f"({approved.opened_months}M), which is allowed above 30 months, {keeps}"
        )


def _ends_before(until: date | None, stated: date) -> bool:
    """A lot without a date bears out no date at all."""
    return until is None or until < stated


def _needs_a_date(found: LotFactsFound) -> bool:
    return not durability_needs_jar(found.made_on, found.best_before)


def _contents_differences(approved: Approved, found: LotFactsFound) -> Iterator[Difference]:
    promised, average = approved.promised_g, found.average_g
    if promised is not None and average is not None and average < promised:
        holds, short = floor_to(average, CENTIGRAM), ceil_to(promised - average, CENTIGRAM)
        yield Difference(
            "contents",
            f"The {approved.called} says {approved.contents}, which promises "
            f"{show_mass(ceil_to(promised, CENTIGRAM))}; {found.hold} {show_mass(holds)} on "
            f"average, {show_mass(short)} short.",
        )
    if approved.has_e_mark and not found.supports_e_mark:
        yield Difference(
            "contents",
            f"The {approved.called} carries the e mark, and no fill check of the run of "
            f"{found.it} supports it.",
        )


def covered_by(differences: Iterable[Difference], sentences: Iterable[str]) -> bool:
    """Say whether each difference is one that was decided about, word for word.

    >>> covered_by([Difference("order", "A.")], ["A.", "B."])
    True
    >>> covered_by([Difference("order", "A."), Difference("extra", "C.")], ["A.", "B."])
    False
    """
    decided = set(sentences)
    return all(difference.sentence in decided for difference in differences)


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
