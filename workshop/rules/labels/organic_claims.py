"""What the words of a label claim of being organic, however they are put."""

import re

from workshop.rules.ingredients.organic_share import RANKS, Category

_WHOLE = re.compile(r"\b100\s*(?:%|per\s?cent)\s+organic\b")
_PART = re.compile(r"\b(\d{1,3})\s*(?:%|per\s?cent)\s+organic(?:ally)?\b")
_MADE_WITH = re.compile(r"\bmade\s+with\s+(?:\d{1,3}\s*%\s+)?organic(?:ally)?\b")
_DENIED = re.compile(r"\b(?:non-?|not\s+|no\s+)organic(?:ally)?\b")
_ORGANIC = re.compile(r"\borganic(?:ally)?\b")


def claim_said(text: str) -> Category | None:
    """Return the strongest organic category that these words claim, or None.

    A percentage below 100, like "made with organic", claims no more than "made with organic".

    Units: none. Error: words can be put so that no rule reads them; a person has the last word.
    Source: 7 CFR 205.303 to 205.305. Raises: nothing.

    >>> claim_said("Organic calendula salve"), claim_said("Made with organic olive oil")
    ('organic', 'made with organic')
    >>> claim_said("100% organic"), claim_said("with 72 % organic oils"), claim_said("inorganic")
    ('100 percent organic', 'made with organic', None)
    """
    rest = _DENIED.sub(" ", text.casefold())
    said: set[Category] = set()
    patterns: list[tuple[re.Pattern[str], Category]] = [
        (_WHOLE, "100 percent organic"),
        (_MADE_WITH, "made with organic"),
        (_PART, "made with organic"),
        (_ORGANIC, "organic"),
    ]
    for pattern, category in patterns:
        rest, count = pattern.subn(" ", rest)
        if count:
            said.add(category)
    return max(said, key=RANKS.index, default=None)


def percent_said(text: str) -> int | None:
    """Return the greatest organic percentage that these words state, or None.

    Units: whole per cent. Error: as `claim_said`. Source: 7 CFR 205.303(a)(2).
    Raises: nothing.

    >>> percent_said("Organic: 96% organic ingredients"), percent_said("Hand salve")
    (96, None)
    """
    return max((int(found) for found in _PART.findall(text.casefold())), default=None)
