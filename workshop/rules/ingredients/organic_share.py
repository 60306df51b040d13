"""The organic share of a lot, the category it allows, and what a label may then say."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from workshop.rules.errors import RuleError
from workshop.rules.ingredients.composition import Composition, Constituent
from workshop.rules.organic.non_organic_rest import is_left_out, rest_problems

Category = Literal["100 percent organic", "organic", "made with organic", "below 70", "none"]

ORGANIC_FROM = 95
MADE_WITH_FROM = 70
MOST_NAMED = 3
RANKS: tuple[Category, ...] = (
    "none", "below 70", "made with organic", "organic", "100 percent organic",
)  # fmt: skip
# What the front and the information panel may carry (7 CFR 205.303 to 205.305, 205.310).
MAY_SAY: dict[Category, tuple[str, ...]] = {
    "100 percent organic": (
        'Say "100 percent organic" in front of the product name.',
        "Show the USDA seal and the certifier's mark, the mark no larger than the seal.",
    ),
    "organic": (
        'Say "organic" in front of the product name, and the percentage.',
        "Show the USDA seal and the certifier's mark, the mark no larger than the seal.",
    ),
    "made with organic": (
        'Say "made with organic" and up to three ingredients or groups, in letters at most half '
        "as high as the largest on the panel.",
        "Show the certifier's mark.",
    ),
    "below 70": (
        "Mark organic ingredients in the ingredient list only.",
        "State the organic percentage on the information panel if they are marked there.",
    ),
    "none": (),
}
NO_SEAL = "Do not show the USDA seal."
NO_MARK = "Do not show a certifier's mark."
MAY_NOT_SAY: dict[Category, tuple[str, ...]] = {
    "100 percent organic": (),
    "organic": ('Do not say "100 percent organic".',),
    "made with organic": ('Do not call the product itself "organic".', NO_SEAL),
    "below 70": ('Do not say "organic" on the front of the pack.', NO_SEAL, NO_MARK),
    "none": ('Do not say "organic" anywhere.', NO_SEAL, NO_MARK),
}
CAUTION = (
    "Computed by 7 CFR 205.301 and 205.302. The certifier has the last word, and only a "
    "certified operation may use the seal or call itself certified."
)


@dataclass(frozen=True)
class Limits:
    """From which share, in per cent, a scheme lets a product be called organic, or made with it."""

    organic_from: Decimal = Decimal(ORGANIC_FROM)
    made_with_from: Decimal = Decimal(MADE_WITH_FROM)

    def no_looser_than(self, other: "Limits") -> "Limits":
        """The stricter of the two, each limit by itself."""
        return Limits(
            max(self.organic_from, other.organic_from),
            max(self.made_with_from, other.made_with_from),
        )

    def needs(self, claim: Category) -> str:
        """What a claim needs, in words."""
        least = {
            "100 percent organic": Decimal(100),
            "organic": self.organic_from,
            "made with organic": self.made_with_from,
        }
        return f"at least {least[claim]:f} %" if claim in least else "an organic ingredient"


BY_RULE = Limits()


@dataclass(frozen=True)
class OrganicClassification:
    """What the organic share and the status of the rest allow.

    `share` is None where only water and salt are; `by_share` is what the share alone would allow,
    and `why_not` says what else stands in the way of that.
    """

    share: Fraction | None
    percent: int
    category: Category
    twins: tuple[str, ...]
    by_share: Category = "none"
    why_not: tuple[str, ...] = ()
    limits: Limits = BY_RULE

    @property
    def may_say(self) -> tuple[str, ...]:
        return MAY_SAY[self.category]

    @property
    def may_not_say(self) -> tuple[str, ...]:
        return MAY_NOT_SAY[self.category]


def organic_share(composition: Composition) -> Fraction | None:
    """Return the organic share by weight of everything but water and salt.

    A bought blend counts with the organic part it really has, since its parts are told apart.

    Units: fraction of the ingredients at formulation. Error: none.
    Source: 7 CFR 205.302(a), with the weight of all ingredients at formulation as the divisor
        (rule of 19 January 2023, 88 FR 3548; wording from memory).
    Raises: nothing; None when there is nothing but water and salt.

    >>> oil, other = Constituent("Oil", is_organic=True), Constituent("Other")
    >>> water = Constituent("Aqua", kind="water")
    >>> parts = {water: Fraction(600, 1000), oil: Fraction(380, 1000), other: Fraction(20, 1000)}
    >>> organic_share(parts)
    Fraction(19, 20)
    """
    counted = {part: share for part, share in composition.items() if not is_left_out(part)}
    base = sum(counted.values(), Fraction())
    if not base:
        return None
    return sum((share for part, share in counted.items() if part.is_organic), Fraction()) / base


def organic_classification(
    composition: Composition, limits: Limits = BY_RULE
) -> OrganicClassification:
    """Return the organic percentage, rounded down, and the category that nothing speaks against.

    `limits` are those of the scheme that is asked about.

    Units: whole per cent. Error: rounded down, as the rule asks, up to one per cent below.
    Source: 7 CFR 205.301(a)-(d), 205.302(b). See `CAUTION`. Raises: nothing.

    >>> oil, lye = Constituent("Oil", is_organic=True), Constituent("Lye", status="listed_b")
    >>> standing = organic_classification({oil: Fraction(9499, 10000), lye: Fraction(501, 10000)})
    >>> standing.percent, standing.category
    (94, 'made with organic')
    """
    share = organic_share(composition)
    percent = int(share * 100) if share is not None else 0
    by_share = _by_share(share, percent, limits)
    possible = RANKS[: RANKS.index(by_share) + 1][::-1]
    category = next(claim for claim in possible if not _status_problems(composition, claim))
    why_not = tuple(_status_problems(composition, by_share))
    twins = organic_twins(composition)
    return OrganicClassification(share, percent, category, twins, by_share, why_not, limits)


def organic_twins(composition: Composition) -> tuple[str, ...]:
    """Return the ingredients that are there both as organic and as not organic, by name.

    Source: 7 CFR 205.301(f)(7): not both in one product called organic.

    >>> half, organic = Fraction(1, 2), Constituent("Oil", is_organic=True)
    >>> organic_twins({organic: half, Constituent("Oil"): half})
    ('Oil',)
    """
    forms: dict[str, set[bool]] = {}
    for part, share in composition.items():
        if share and not is_left_out(part):
            forms.setdefault(part.inci_name, set()).add(part.is_organic)
    return tuple(sorted(name for name, kinds in forms.items() if len(kinds) > 1))


def claim_problems(
    composition: Composition, claim: Category, limits: Limits = BY_RULE
) -> list[str]:
    """Return why `claim` may not stand on a lot of this composition, each as a sentence.

    A claim is a share, by the `limits` of its scheme, **and** a status of the rest.

    Units: none. Error: none. Source: 7 CFR 205.301(a)-(d), (f)(7), 205.302(b). See `CAUTION`.
    Raises: nothing; an empty list means that the arithmetic supports the claim.

    >>> plain_oil = Constituent("Oil", status="agricultural")
    >>> claim_problems({plain_oil: Fraction(1)}, "made with organic")
    ['The lot is 0 % organic, and "made with organic" needs at least 70 %.']
    """
    standing = organic_classification(composition, limits)
    problems = []
    if RANKS.index(standing.by_share) < RANKS.index(claim):
        problems.append(
            f'The lot is {standing.percent} % organic, and "{claim}" needs {limits.needs(claim)}.'
        )
    return problems + _status_problems(composition, claim)


def _status_problems(composition: Composition, claim: Category) -> list[str]:
    """What stands in the way of a claim besides the share."""
    problems = list(rest_problems(composition, claim))
    if claim in ("100 percent organic", "organic"):
        problems += [
            f"{name} is in the lot both as organic and as not organic, and a product called "
            "organic may hold only one of the two."
            for name in organic_twins(composition)
        ]
    return problems


def made_with_statement(ingredients: Sequence[str]) -> str:
    """Return the front statement of a product made with organic ingredients.

    Units: one to three names of ingredients or groups. Error: none.
    Source: 7 CFR 205.304(a)(1)(i). Raises: RuleError for none, or for more than three.

    >>> made_with_statement(["olive oil", "beeswax"])
    'Made with organic olive oil and beeswax'
    """
    names = [name.strip() for name in ingredients if name.strip()]
    if not 1 <= len(names) <= MOST_NAMED:
        raise RuleError(
            f'"Made with organic" names one to three ingredients or groups, not {len(names)}.'
        )
    *first, last = names
    return "Made with organic " + (f"{', '.join(first)} and {last}" if first else last)


def certifier_line(certifier: str) -> str:
    """Return the certifier line, which stands below the name of the maker or distributor.

    Source: 7 CFR 205.303(b)(2), 205.304(b)(2).

    >>> certifier_line("Evergrain Assurance")
    'Certified organic by Evergrain Assurance'
    """
    return f"Certified organic by {certifier}"


def certifier_stands_below(panel_lines: Iterable[str], maker: str, certifier: str) -> bool:
    """Say whether the certifier line stands on the panel, below the maker's name.

    Source: 7 CFR 205.303(b)(2), 205.304(b)(2).

    >>> lines = ["Wren Hollow Works", "Port Ellery", "Certified organic by Evergrain Assurance"]
    >>> certifier_stands_below(lines, "Wren Hollow Works", "Evergrain Assurance")
    True
    """
    lines = list(panel_lines)
    wanted = certifier_line(certifier)
    if wanted not in lines:
        return False
    return any(maker in line for line in lines[: lines.index(wanted)])


def _by_share(share: Fraction | None, percent: int, limits: Limits) -> Category:
    if not share:
        return "none"
    if share == 1:
        return "100 percent organic"
    if percent >= limits.organic_from:
        return "organic"
    return "made with organic" if percent >= limits.made_with_from else "below 70"


def biggest_organic(composition: Composition) -> list[Constituent]:
    """Return up to three organic ingredients of the greatest share, to name on the front.

    One that is in the lot as not organic too is not named (7 CFR 205.301(f)(7)).

    >>> oil, wax = Constituent("Oil", is_organic=True), Constituent("Wax")
    >>> [part.inci_name for part in biggest_organic({wax: Fraction(1, 4), oil: Fraction(3, 4)})]
    ['Oil']
    """
    twins = organic_twins(composition)
    pure = [p for p in composition if p.inci_name not in twins]
    organic = [p for p in pure if p.is_organic and not is_left_out(p)]
    return sorted(organic, key=lambda p: (-composition[p], p.inci_name))[:MOST_NAMED]
