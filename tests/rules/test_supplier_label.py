"""What a code on a supplier's container says: GS1 General Specifications, by identifier."""

from datetime import date

import pytest

from workshop.rules.codes.supplier_label import SupplierLabel, read_supplier_label
from workshop.rules.errors import RuleError

GTIN = "09521234543213"
NEW_YEARS_EVE = date(2027, 12, 31)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        # A bare GTIN of each length; the check digits by the standard's own reckoning.
        ("9521234543213", SupplierLabel(GTIN)),
        (GTIN, SupplierLabel(GTIN)),
        ("]E09521234543213", SupplierLabel(GTIN)),
        ("95200002", SupplierLabel("00000095200002")),
        # Goods alone; a lot; an expiry, which goes before a best-before.
        (f"(01){GTIN}", SupplierLabel(GTIN)),
        (f"(01){GTIN}(10)LB-0423", SupplierLabel(GTIN, "LB-0423")),
        (f"(01){GTIN}(15)271231", SupplierLabel(GTIN, "", NEW_YEARS_EVE)),
        (f"(01){GTIN}(15)270101(17)271231", SupplierLabel(GTIN, "", NEW_YEARS_EVE)),
        # 310n in kilograms and 320n in pounds, with n decimals; 30 is a count.
        (f"(01){GTIN}(3100)000025", SupplierLabel(GTIN, "", None, "25 kg")),
        (f"(01){GTIN}(3103)000250", SupplierLabel(GTIN, "", None, "0.25 kg")),
        (f"(01){GTIN}(3100)001000", SupplierLabel(GTIN, "", None, "1000 kg")),
        (f"(01){GTIN}(3202)000450", SupplierLabel(GTIN, "", None, "4.5 lb")),
        (f"(01){GTIN}(30)0144", SupplierLabel(GTIN, "", None, "144")),
        (f"(01){GTIN}(3101)000025(30)12", SupplierLabel(GTIN, "", None, "2.5 kg")),
        # 02 with 37: so many of them; with a weight, which is of one, the whole is left open.
        (f"(02){GTIN}(37)048(10)LB", SupplierLabel(GTIN, "LB", None, "48")),
        (f"(02){GTIN}(3101)000025(37)48", SupplierLabel(GTIN)),
        (f"(02){GTIN}(10)LB", SupplierLabel(GTIN, "LB")),
    ],
)
def test_label_is_read_by_its_identifiers(text: str, found: SupplierLabel) -> None:
    assert read_supplier_label(text) == found


@pytest.mark.parametrize("text", ["(10)LB", "(17)271231", "(00)123456789012345675"])
def test_code_that_names_no_goods_is_refused(text: str) -> None:
    with pytest.raises(RuleError, match="The code names no goods: it has no GTIN"):
        read_supplier_label(text)


@pytest.mark.parametrize("text", ["", "9521234543214", "952123454321300", "hello"])
def test_what_is_no_gs1_code_is_refused(text: str) -> None:
    with pytest.raises(RuleError):
        read_supplier_label(text)
