"""How far a recall has reached: customers contacted, the part accounted for, shelves in doubt."""

from decimal import ROUND_HALF_UP, Decimal

from workshop.rules.errors import RuleError

PLACES = Decimal("0.01")
WHOLE = Decimal(100)


def contacts_needed(level: str, customers: int) -> int:
    """Return how many of `customers` an effectiveness check of `level` must reach at least.

    Units: customers; a part of one is rounded up. Level B lies between 10 % and all, so the
        fewest for it are just above 10 %.
    Error: none. Source: 21 CFR 7.42(b)(3), levels A to E.
    Raises: RuleError for another level or a count below zero.

    >>> [contacts_needed(level, 37) for level in "ABCDE"]
    [37, 4, 4, 1, 0]
    """
    if customers < 0:
        raise RuleError("The number of customers is not below zero.")
    needed = {
        "A": customers,
        "B": min(customers, customers // 10 + 1),
        "C": -(-customers // 10),
        "D": -(-customers // 50),
        "E": 0,
    }
    if level not in needed:
        raise RuleError(f'"{level}" is not a level of effectiveness check; use A to E.')
    return needed[level]


def accounted_percent(accounted: Decimal, made: Decimal) -> Decimal:
    """Return which part of what was made is accounted for, in percent.

    Units: both in the same unit. Error: rounded to 0.01, but only what is exactly whole is
        told as 100.
    Source: the usual formula of mock recalls, (in stock + shipped to known customers + samples
        + destroyed + recorded loss) / made; common practice, no source.
    Raises: RuleError when nothing was made.

    >>> accounted_percent(Decimal(480), Decimal(480)), accounted_percent(Decimal(475), Decimal(480))
    (Decimal('100.00'), Decimal('98.96'))
    >>> accounted_percent(Decimal(99999), Decimal(100000))
    Decimal('99.99')
    """
    if made <= 0:
        raise RuleError("Nothing was made, so no part of it can be accounted for.")
    percent = (accounted * WHOLE / made).quantize(PLACES, ROUND_HALF_UP)
    if percent == WHOLE and accounted != made:
        return percent - PLACES if accounted < made else percent + PLACES
    return percent


def is_far_from_book(book: Decimal, found: Decimal) -> bool:
    """Say whether what was found differs so much from the book that it is asked for once more.

    So it is above a tenth of what the book has of the lot: a figure in kilograms taken for grams,
    or one of another lot, differs by far more, and what a shelf loses in use by far less.

    Units: both in the same unit. Error: none. Source: common practice, no source.

    >>> [is_far_from_book(Decimal(480), Decimal(n)) for n in (480, 432, 431, 528, 529, 0)]
    [False, False, True, False, True, True]
    """
    return abs(found - book) * 10 > abs(book)
