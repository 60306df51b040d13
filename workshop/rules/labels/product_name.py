"""The name on a label, told from the name under which a product is kept."""

import re

_CONTENTS = re.compile(
    r"[\s,]+\(?\d+(?:[.,]\d+)?\s?(?:m?g|kg|m?l|cl|oz|fl\.? oz|lb)\.?\)?$", re.IGNORECASE
)


def without_contents(name: str) -> str:
    """Return a product's name without the contents behind it, which a label states by themselves.

    Contents in a name are a second statement of quantity, which would have to follow the same
    rules as the first.

    Units, error: none. Source: 21 CFR 701.13(f), (q); Regulation (EC) 1223/2009, article 19(1)(b).
    Raises: nothing.

    >>> without_contents("Hand salve 60 g"), without_contents("Body oil, 100 mL")
    ('Hand salve', 'Body oil')
    >>> without_contents("60 g"), without_contents("Balm No. 4")
    ('60 g', 'Balm No. 4')
    """
    return _CONTENTS.sub("", name).strip() or name
