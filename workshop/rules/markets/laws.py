"""The laws by market: a further market is a module of its own and a line here.

`core/markets.py` lists it too; `docs/adding.md` has the whole list of places.
"""

from workshop.rules.markets import eu, uk, us
from workshop.rules.markets.market_law import Law, refuse_unknown

LAWS: dict[str, Law] = {law.code: law for law in (us.LAW, eu.LAW, uk.LAW)}


def law_of(code: str) -> Law:
    """Return the law of a market.

    Units, error: none. Source: each market's own module. Raises: RuleError for an unknown one.

    >>> law_of("US").words["water"], law_of("UK").needs_responsible_person
    ('Water', True)
    """
    found = LAWS.get(code)
    if found is None:
        raise refuse_unknown(code, LAWS)
    return found
