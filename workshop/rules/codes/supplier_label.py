"""What the GS1 code on a supplier's container says of the lot inside."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from workshop.rules.codes.gs1 import gs1_day, gtin14, parse_element_string, strip_symbology
from workshop.rules.errors import RuleError

EXPIRY, BEST_BEFORE = "17", "15"
WEIGHT_UNITS = {"310": "kg", "320": "lb"}


@dataclass(frozen=True)
class SupplierLabel:
    """A container as its code tells of it; what the code leaves out is empty."""

    gtin: str
    lot: str = ""
    good_until: date | None = None
    quantity_as_written: str = ""


def read_supplier_label(text: str) -> SupplierLabel:
    """Return what a scanned code says of the goods: GTIN, lot, expiry, and how much there is.

    An expiry (17) goes before a best-before (15). A weight is of one item (01); where the code
    tells of the items inside (02), how much that is in all is left open.

    Units: the quantity as a delivery note would say it, "25 kg", "4.5 lb" or a count "144".
    Error: none; the decimals are those of the code.
    Source: GS1 General Specifications, application identifiers 01, 02, 10, 15, 17, 30, 37, 310n
        and 320n.
    Raises: RuleError when it is no GS1 code, or names no goods.

    >>> read_supplier_label("(01)09521234543213(17)271231(10)LB-0423(3102)002500")
    SupplierLabel(gtin='09521234543213', lot='LB-0423', good_until=datetime.date(2027, 12, 31), \
quantity_as_written='25 kg')
    >>> read_supplier_label("9521234543213").gtin
    '09521234543213'
    """
    bare = strip_symbology(text)
    if bare.isdecimal() and len(bare) <= len("09521234543213"):
        return SupplierLabel(gtin14(bare))
    found = parse_element_string(text)
    gtin = found.get("01") or found.get("02")
    if not gtin:
        raise RuleError("The code names no goods: it has no GTIN.")
    day = found.get(EXPIRY) or found.get(BEST_BEFORE)
    return SupplierLabel(gtin, found.get("10", ""), gs1_day(day) if day else None, _quantity(found))


def _quantity(found: dict[str, str]) -> str:
    if "02" in found:
        return found["37"].lstrip("0") if "37" in found and not _weight(found) else ""
    return _weight(found) or found.get("30", "").lstrip("0")


def _weight(found: dict[str, str]) -> str:
    for identifier, digits in found.items():
        if unit := WEIGHT_UNITS.get(identifier[:3]):
            amount = Decimal(digits).scaleb(-int(identifier[3]))
            return f"{amount.normalize():f} {unit}"
    return ""
