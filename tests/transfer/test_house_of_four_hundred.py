"""A house with 400 products moves in: one workbook, three faults found, an old tin recalled.

The workbook is ours, made here: 150 materials, 900 formula lines, 400 products, 1,200 lots.
"""

from io import BytesIO
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from openpyxl import Workbook

from tests import make
from tests.kept_database import address
from tests.transfer.apart import taken_in
from workshop.aftersales.models import Recall
from workshop.audit.all_checks import prove
from workshop.core.models import Role
from workshop.formulas.models import Formula, Line
from workshop.goods_in.models import OpeningLot
from workshop.ledger.models import Item, ItemKind, Lot, Status
from workshop.packing.models import Product

pytestmark = pytest.mark.django_db(transaction=True)
MATERIALS, FORMULAS, PRODUCTS, LOTS, TINS = 150, 225, 400, 1200, 6
LINES_OF_EACH = 4  # 225 formulas of 4 lines are 900 lines
MADE, UNTIL, SENT = make.iso(-120), make.iso(400), make.iso(-90)
SHARES = ("55", "25", "15", "5")
STOCK_HEADS = [
    *("Item", "Quantity on hand", "Code on it", "Supplier", "Supplier lot", "Made or received on"),
    *("Best before", "Status", "Sent to", "Sent", "Sent on"),
]
Rows = list[list[Any]]


def of_materials(place: int) -> str:
    return f"Material {place % MATERIALS:03}"


def sheets() -> dict[str, Rows]:
    """All sheets of the house, the headings of each first."""
    return {
        "Suppliers": [["Name"], *([f"Supplier {one}"] for one in range(12))],
        "Customers": [["Name"], *([f"Shop {one}"] for one in range(30))],
        "Materials": [
            ["Name", "INCI name", "Density, g/mL"],
            *([of_materials(one), f"Testum {one:03} Oil", "0,915"] for one in range(MATERIALS)),
        ],
        "Packaging": [["Name", "Code"], *([f"Tin {one}", f"TIN-{one}"] for one in range(TINS))],
        "Formulas": [
            ["Formula", "Material", "Percent"],
            *(
                [f"Balm {one:03}", of_materials(one + 37 * place), share]
                for one in range(FORMULAS)
                for place, share in enumerate(SHARES)
            ),
        ],
        "Products": [
            ["Name", "Formula", "Container", "Fill"],
            *(
                [f"Tin of balm {one:03}", f"Balm {one % FORMULAS:03}", f"TIN-{one % TINS}", "60 g"]
                for one in range(PRODUCTS)
            ),
        ],
        "Opening stock": [STOCK_HEADS, *(a_lot(one) for one in range(LOTS))],
    }


def a_lot(one: int) -> list[Any]:
    """Every third lot is raw, and of every fourth of the others a shop has some."""
    if one % 3 == 0:
        supplier = f"Supplier {one % 12}"
        return [of_materials(one), "5 kg", "", supplier, f"S-{one}", MADE, UNTIL, "released"]
    row = [f"Tin of balm {one % PRODUCTS:03}", "48", f"B-{one:04}", "", "", MADE, UNTIL, "released"]
    return [*row, f"Shop {one % 30}", "12", SENT] if one % 4 == 0 else row


def spoilt(whole: dict[str, Rows]) -> dict[str, Rows]:
    """The same with three faults: no such material, no number, no such day."""
    whole["Formulas"][500][1] = "Materiel 009"
    whole["Products"][77][3] = "sixty"
    whole["Opening stock"][1100][5] = "2026-02-30"
    return whole


def xlsx(whole: dict[str, Rows]) -> SimpleUploadedFile:
    book = Workbook(write_only=True)
    for name, rows in whole.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    out = BytesIO()
    book.save(out)
    return SimpleUploadedFile("house.xlsx", out.getvalue())


def bring(client: Client, whole: dict[str, Rows]) -> Any:
    return client.post("/backups/sheets/", {"file": xlsx(whole)})


def test_house_moves_in_and_recalls_an_old_tin(
    signed_in: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DATABASE_URL", address())
    owner = signed_in(Role.OWNER)

    tried = bring(owner, spoilt(sheets()))
    outcome = tried.context["outcome"]
    faults = [
        (sheet.name, fault.row, fault.column, fault.cell)
        for sheet in outcome.sheets
        for fault in sheet.faults
    ]
    assert faults == [
        ("Formulas", 501, "Material", "Materiel 009"),
        ("Products", 78, "Fill", "sixty"),
        ("Opening stock", 1101, "Made or received on", "2026-02-30"),
    ]
    assert "3 faults in house.xlsx" in tried.content.decode()
    assert not Item.objects.exists()

    mended = bring(owner, sheets())
    assert mended.context["outcome"].is_ready
    kept = mended.context["kept"].cleaned_data
    assert "is imported" in taken_in(owner, {key: kept[key] for key in ("digest", "file_name")})

    assert Item.objects.of_kind(ItemKind.MATERIAL).count() == MATERIALS
    assert (Formula.objects.count(), Line.objects.count()) == (FORMULAS, FORMULAS * LINES_OF_EACH)
    assert (Product.objects.count(), OpeningLot.objects.count()) == (PRODUCTS, LOTS)

    tin = Lot.objects.get(opening__old_code="B-0004")
    found = owner.get("/scan/", {"q": "b-0004"})
    assert found["Location"] == f"/trace/{tin.code}/"
    told = owner.get(found["Location"]).content.decode()
    assert "before the book" in told
    assert "Shop 4" in told

    owner.post("/aftersales/recalls/new/", recall_of(tin))
    recall = Recall.objects.get()
    tin.refresh_from_db()
    assert tin.status == Status.ON_HOLD
    assert "Shop 4" in owner.get(f"/aftersales/recalls/{recall.reference}/").content.decode()
    assert [one for one in prove() if not one.is_sound] == []


def recall_of(tin: Lot) -> dict[str, Any]:
    said = {"lot": tin.code, "reason": "Smells rancid", "remedy": "The price is credited"}
    how = {"hazard": "", "depth": "retail", "level": "A", "notice_on": make.DAY.isoformat()}
    return {**said, **how, "token": "recall-1"}
