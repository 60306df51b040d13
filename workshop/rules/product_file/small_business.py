"""The small-business test of the US, and the days that registration and files fall due."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from workshop.rules.dates.calendar_days import add_months
from workshop.rules.errors import RuleError
from workshop.rules.quantities.units import Exact

LIMIT_USD = 1_000_000
YEARS = 3
KEPT_YEARS = 10
# 21 U.S.C. 364h(b): making one of these ends the exemption, whatever the sales.
EXCLUDED = {
    "eye": "products that regularly touch the mucous membrane of the eye",
    "injected": "products that are injected",
    "internal": "products for internal use",
    "lasting": "products that change the appearance for more than 24 hours and are not removed by "
    "the user as a matter of course",
}


@dataclass(frozen=True)
class SmallBusiness:
    """The answer, with the average it rests on and the sentence that says why."""

    average_usd: Fraction
    sentence: str
    is_small: bool


def small_business(
    sales_usd: Sequence[Exact], *, makes: Collection[str] = (), limit_usd: Exact = LIMIT_USD
) -> SmallBusiness:
    """Say whether good practice, registration and listing are asked of a maker in the US.

    `sales_usd` are the gross sales of cosmetics in the US in the three years before; true soap is
    outside. `makes` are keys of EXCLUDED. The limit is adjusted for inflation by law: give the
    adjusted one where it is known.

    Units: US dollars. Error: none.
    Source: 21 U.S.C. 364h(a), (b); that true soap does not count is from memory.
    Raises: RuleError for other than three years, a sum below zero, or an unknown product.

    >>> small_business([1_100_000, 750_000, 850_000]).is_small
    True
    >>> small_business([950_000, 1_275_000, 850_000]).is_small
    False
    """
    if len(sales_usd) != YEARS or any(one < 0 for one in sales_usd):
        raise RuleError(
            "Give the US sales of cosmetics of the three years before, none below zero."
        )
    unknown = sorted(set(makes) - set(EXCLUDED))
    if unknown:
        raise RuleError(f"“{unknown[0]}” is no kind of product that the rule names.")
    average = sum((Fraction(one) for one in sales_usd), Fraction()) / YEARS
    said = f"On average {int(average):,} US dollars a year"
    if average >= limit_usd:
        told = f"{said}, not below {int(limit_usd):,}: no small business."
        return SmallBusiness(average, told, is_small=False)
    if makes:
        kinds = "; ".join(EXCLUDED[key] for key in makes)
        told = f"{said}, but it makes {kinds}: the exemption does not hold."
        return SmallBusiness(average, told, is_small=False)
    told = (
        f"{said}, below {int(limit_usd):,}: registration, listing and the rules on good practice "
        "are not asked of it. Safety substantiation, label and reports of serious events are."
    )
    return SmallBusiness(average, told, is_small=True)


def kept_until(last_placed_on: date) -> date:
    """Return the day to which a product file is kept: ten years from the last lot's placing.

    Source: Regulation (EC) 1223/2009, article 11(1). Raises: nothing.

    >>> kept_until(date(2026, 11, 29))
    datetime.date(2036, 11, 29)
    """
    return add_months(last_placed_on, 12 * KEPT_YEARS)


def listing_due_on(listed_on: date) -> date:
    """Return when a US product listing is updated next: within a year.

    Source: 21 U.S.C. 364c(c); yearly is second-hand. Raises: nothing.

    >>> listing_due_on(date(2026, 2, 28))
    datetime.date(2027, 2, 28)
    """
    return add_months(listed_on, 12)


def registration_due_on(registered_on: date) -> date:
    """Return when a US facility registration is renewed next: every two years.

    Source: 21 U.S.C. 364c(a), the period from its heading. Raises: nothing.

    >>> registration_due_on(date(2026, 2, 28))
    datetime.date(2028, 2, 28)
    """
    return add_months(registered_on, 24)
