"""A short code for an item that came without one."""

import re
import unicodedata
from collections.abc import Container

LONGEST = 20


def code_for(name: str, taken: Container[str]) -> str:
    """The name in capitals and hyphens, with a number behind it where that is taken.

    >>> code_for("Sunflower oil, cold", set()), code_for("Shea", {"SHEA"})
    ('SUNFLOWER-OIL-COLD', 'SHEA-2')
    """
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().upper()
    stem = re.sub(r"[^A-Z0-9]+", "-", plain).strip("-")[:LONGEST].strip("-") or "ITEM"
    code, number = stem, 1
    while code in taken:
        number += 1
        tail = f"-{number}"
        code = stem[: LONGEST - len(tail)] + tail
    return code
