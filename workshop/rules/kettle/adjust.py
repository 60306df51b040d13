"""Changing a melt after the spoon test, or an ingredient of a formula, and what that does."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from workshop.rules.errors import RuleError
from workshop.rules.ingredients.composition import Composition, Constituent, compose
from workshop.rules.ingredients.declaration import Market, declare, same_order_allowed
from workshop.rules.ingredients.organic_share import organic_classification
from workshop.rules.quantities.units import Exact, show_number, without_zeros

TEN_THOUSANDTH = Decimal("0.0001")


@dataclass(frozen=True)
class Limit:
    """The most that may be of something: a dermal limit of an oil, or an allergen over all oils.

    `counted` gives, for each INCI name that brings some of it, the share of it in that
    ingredient: 1 for an oil limited as such, 0.35 for linalool in a lavender oil.
    """

    name: str
    most: Exact
    counted: Mapping[str, Exact] = field(default_factory=dict)

    def share_in(self, composition: Composition) -> Fraction:
        counted = {name: Fraction(part) for name, part in self.counted.items()}
        none = Fraction()
        return sum((s * counted.get(part.inci_name, none) for part, s in composition.items()), none)


@dataclass(frozen=True)
class Changes:
    """What a change does: each share before and after, and what to mind, in sentences."""

    shares: tuple[tuple[Constituent, Fraction, Fraction], ...]
    sentences: tuple[str, ...]
    limit_problems: tuple[str, ...]


def addition_for_share_g(
    total_g: Exact, share_now: Exact, share_wanted: Exact, share_in_addition: Exact = 1
) -> Fraction:
    """Return how much to add so that a part of the melt (the wax, say) has the wanted share.

    To raise the wax add wax (share 1 in the addition); to lower it add oil (share 0), or
    anything in between.

    Units: g; shares are fractions. Error: none: the result is exact, round it to the scale.
    Source: balance of the part: (now x total + in addition x added) = wanted x (total + added).
    Raises: RuleError when a share is outside 0 to 1, there is no melt, or this addition can
        never bring the wanted share.

    >>> addition_for_share_g(1000, Decimal("0.20"), Decimal("0.22"))
    Fraction(1000, 39)
    >>> addition_for_share_g(1000, Decimal("0.20"), Decimal("0.18"), 0)
    Fraction(1000, 9)
    """
    now, wanted, inside = (Fraction(s) for s in (share_now, share_wanted, share_in_addition))
    if total_g <= 0 or not all(0 <= share <= 1 for share in (now, wanted, inside)):
        raise RuleError("There must be a melt, and each share must be from 0 to 100 %.")
    if wanted == now:
        return Fraction()
    if not min(now, inside) < wanted < max(now, inside):
        raise RuleError(
            f"Adding something that is {_percent(inside)} % of it cannot bring the share from "
            f"{_percent(now)} % to {_percent(wanted)} %. Choose another addition or another share."
        )
    return Fraction(total_g) * (wanted - now) / (inside - wanted)


def after_addition(
    composition: Composition, total_g: Exact, addition: Composition, added_g: Exact
) -> dict[Constituent, Fraction]:
    """Return the composition of a melt once `added_g` of something else is in.

    Units: g; shares are fractions. Error: none. Source: as `compose`. Raises: as `compose`.

    >>> oil, wax = Constituent("Oil"), Constituent("Wax")
    >>> after = after_addition({oil: Fraction(1)}, 900, {wax: Fraction(1)}, 100)
    >>> [str(share) for share in after.values()]
    ['9/10', '1/10']
    """
    return compose([(total_g, composition), (added_g, addition)])


def substituted_shares(shares_percent: Sequence[Exact], place: int, ratio: Exact) -> list[Fraction]:
    """Return the shares of a formula once the line at `place` is swapped for a substitute.

    `ratio` parts of the substitute do the work of one part; the others keep their proportions
    to each other and fill up to 100.

    Units: per cent; ratio without unit. Error: none: the shares add up to 100 exactly.
    Source: common practice, no source. Raises: RuleError when the ratio is not above zero, or
        there is no such line.

    >>> [str(share) for share in substituted_shares([80, 20], 1, Decimal("0.5"))]
    ['800/9', '100/9']
    """
    if ratio <= 0 or not 0 <= place < len(shares_percent):
        raise RuleError("Choose a line of the formula, and a proportion above zero.")
    parts = [Fraction(share) for share in shares_percent]
    parts[place] *= Fraction(ratio)
    whole = sum(parts, Fraction())
    if whole <= 0:
        raise RuleError("The shares of the formula must add up to more than zero.")
    return [100 * part / whole for part in parts]


def changes(
    before: Composition, after: Composition, *, market: Market, limits: Sequence[Limit] = ()
) -> Changes:
    """Return what it does to shares, ingredient list, organic share and limits.

    Units: fractions of the whole. Error: none in the comparison; shares are told to 0.0001 %.
    Source: as `declare` and `organic_classification`; the limits are the workshop's own, or
        from the supplier's certificate. A qualified assessor has the last word.
    Raises: as `declare`.

    >>> oil, wax = Constituent("Oil"), Constituent("Wax")
    >>> before = {oil: Fraction(6, 10), wax: Fraction(4, 10)}
    >>> after = {oil: Fraction(4, 10), wax: Fraction(6, 10)}
    >>> changes(before, after, market="US").sentences
    ('The ingredient list would have to read: Wax, Oil.',)
    """
    parts = sorted({*before, *after}, key=lambda p: (-before.get(p, Fraction()), p.inci_name))
    none = Fraction()
    shares = tuple((part, before.get(part, none), after.get(part, none)) for part in parts)
    sentences = (*_list_change(before, after, market), *_organic_change(before, after))
    return Changes(shares, sentences, tuple(limit_problems(after, limits)))


def limit_problems(composition: Composition, limits: Sequence[Limit]) -> list[str]:
    """Return which limits a composition exceeds, as sentences; equal to the limit is within it.

    Units: fractions. Error: none. Source: the limits are given. Raises: nothing.

    >>> limit = Limit("Mint oil", Fraction(1, 100), {"Mint Oil": 1})
    >>> limit_problems({Constituent("Mint Oil"): Fraction(1, 50)}, [limit])
    ['Mint oil would be 2 %, and 1 % is the most.']
    """
    shares = [(limit, limit.share_in(composition)) for limit in limits]
    return [limit_sentence(limit, share) for limit, share in shares if share > limit.most]


def limit_sentence(limit: Limit, share: Fraction) -> str:
    """Return the sentence that says by how much a limit is exceeded.

    Units: fractions. Error: told to 0.0001 %. Source: the limit is given. Raises: nothing.

    >>> limit_sentence(Limit("Mint oil", Fraction(1, 100)), Fraction(1, 50))
    'Mint oil would be 2 %, and 1 % is the most.'
    """
    return (
        f"{limit.name} would be {_percent(share)} %, and {_percent(Fraction(limit.most))} % is "
        "the most."
    )


def _list_change(before: Composition, after: Composition, market: Market) -> list[str]:
    printed, wanted = declare(before, market), declare(after, market)
    if same_order_allowed(printed.names, wanted):
        return []
    return [f"The ingredient list would have to read: {', '.join(wanted.names)}."]


def _organic_change(before: Composition, after: Composition) -> list[str]:
    was, becomes = organic_classification(before), organic_classification(after)
    if (was.percent, was.category) == (becomes.percent, becomes.category):
        return []
    sentence = f"The organic share goes from {was.percent} % to {becomes.percent} %"
    if was.category == becomes.category:
        return [f"{sentence}."]
    return [f'{sentence}, and the category from "{was.category}" to "{becomes.category}".']


def _percent(share: Fraction) -> str:
    return without_zeros(show_number(share * 100, TEN_THOUSANDTH))
