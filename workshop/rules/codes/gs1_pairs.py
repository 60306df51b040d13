"""Which GS1 identifiers must stand beside which, and which must not."""

from collections.abc import Collection

from workshop.rules.errors import RuleError

ITEM = (("01",), ("02",))
# Identifier -> the sets of which one must be there whole.
# Source: GS1 Barcode Syntax Dictionary, "req", for the identifiers that `gs1.ELEMENTS` knows;
# GS1 General Specifications, section 4.14 (mandatory and invalid pairs).
REQUIRED: dict[str, tuple[tuple[str, ...], ...]] = {
    "02": (("37",),),
    "37": (("00", "02"),),
    "21": (("01",),),
    "22": (("01",),),
} | dict.fromkeys(("10", "11", "13", "15", "16", "17", "20", "240", "30"), ITEM)
# Source: the same, "ex".
EXCLUDED = (("01", "02"), ("01", "37"))
NET_WEIGHTS = ("310", "320")


def refuse_wrong_company(identifiers: Collection[str]) -> None:
    """Refuse identifiers that the standard does not let stand together, or alone.

    Units: application identifiers. Error: none.
    Source: GS1 General Specifications, section 4.14, and Barcode Syntax Dictionary.
    Raises: RuleError, saying which.

    >>> refuse_wrong_company(["02", "37", "10"])
    Traceback (most recent call last):
    workshop.rules.errors.RuleError: Element (37) stands only beside (00) and (02).
    """
    if not identifiers:
        raise RuleError("A GS1 code needs at least one element.")
    weights = [ai[:3] for ai in identifiers if ai[:3] in NET_WEIGHTS]
    if len({*identifiers}) < len(identifiers) or len({*weights}) < len(weights):
        raise RuleError("A GS1 code may hold each element only once.")
    have = set(identifiers)
    for one, other in EXCLUDED:
        if have >= {one, other}:
            raise RuleError(f"Element ({one}) does not stand beside ({other}).")
    for ai in identifiers:
        needed = _needed(ai)
        if needed and not any(have.issuperset(one) for one in needed):
            either = " or ".join(" and ".join(f"({key})" for key in one) for one in needed)
            raise RuleError(f"Element ({ai}) stands only beside {either}.")


def _needed(ai: str) -> tuple[tuple[str, ...], ...]:
    """A net weight is of an item, whatever its decimals."""
    return ITEM if ai[:3] in NET_WEIGHTS else REQUIRED.get(ai, ())
