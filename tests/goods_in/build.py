"""Builders of goods-in: suppliers, certificates, materials and lots that came in."""

from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal
from itertools import count
from typing import Any

from tests import make
from workshop.goods_in import services
from workshop.goods_in.delivery_checks import ArrivedLot
from workshop.goods_in.models import Certificate, Receipt, ReceiptLine, Supplier
from workshop.ledger import services as ledger
from workshop.ledger.models import Item, ItemKind, Lot, Status
from workshop.materials.models import Constituency, OrganicStatus
from workshop.materials.services.materials import Material, save_material
from workshop.materials.services.organic import save_status

DAY, NOON = make.DAY, make.NOON
YEAR = timedelta(days=365)
_number = count(1)


def supplier(name: str = "", **values: Any) -> Supplier:
    name = name or f"Ostrey Oils {next(_number)}"
    return services.save_supplier({"name": name, **values}, by=make.user(), at=NOON)


def material(name: str = "", **values: Any) -> Item:
    """A material that may be bought as organic; its INCI name is its name in capitals.

    What may not is on the National List, so that it stands in no claim's way; pass `status` for
    another one, or an empty one for none.
    """
    number = next(_number)
    values.setdefault("code", f"OIL-{number}")
    values.setdefault("inci_name", (name or f"Seed oil {number}").upper())
    values.setdefault("is_organic", True)
    is_left_out = values.get("constituency") in (Constituency.WATER, Constituency.SALT)
    usual = "" if values["is_organic"] or is_left_out else "listed_b"
    status = values.pop("status", usual)
    entry = Material(name=name or f"Seed oil {number}", **values)
    item = save_material(entry, by=make.user(), at=NOON)
    if status:
        organic_status(item, status)
    return item


def organic_status(item: Item, status: str, **values: Any) -> OrganicStatus:
    """What a material, or a part of a blend, is under the scheme of labels."""
    values.setdefault("source", "7 CFR 205.605, as read by the builder")
    evidence = values.pop("evidence", None)
    row = OrganicStatus(profile=item.profile, status=status, **values)
    return save_status(row, by=make.user(), at=NOON, evidence=evidence)


def packaging(**values: Any) -> Item:
    number = next(_number)
    entry = Material(code=f"TIN-{number}", name=f"Tin {number}", kind=ItemKind.PACKAGING, **values)
    return save_material(entry, by=make.user(), at=NOON)


def certificate(
    of: Supplier, items: Sequence[Item], *, valid_from: date = DAY - YEAR, **values: Any
) -> Certificate:
    values.setdefault("valid_to", DAY + YEAR)
    entry = {
        "supplier": of,
        "certifier": "Evergrain Assurance",
        "number": f"EXAMPLE-EG-{next(_number)}",
        "valid_from": valid_from,
        "items": items,
        **values,
    }
    return services.save_certificate(entry, by=make.user(), at=NOON)


def arrived(item: Item, *, grams: Decimal | int = 5000, **values: Any) -> ArrivedLot:
    values.setdefault("supplier_lot", f"S{next(_number)}")
    values.setdefault("quantity_as_written", f"{grams} {item.unit}")
    for check in ("seal_is_good", "smell_is_good", "look_is_good"):
        values.setdefault(check, True)
    return ArrivedLot(item=item, quantity=Decimal(grams), **values)


def receipt(*lots: ArrivedLot, of: Supplier | None = None, **values: Any) -> Receipt:
    values.setdefault("received_on", DAY)
    values.setdefault("by", make.user())
    values.setdefault("at", NOON)
    return services.receive(of or supplier(), lots, **values)


def line(item: Item | None = None, *, of: Supplier | None = None, **values: Any) -> ReceiptLine:
    """The line of a receipt of one lot; `values` are those of the lot."""
    return receipt(arrived(item or material(), **values), of=of).lines.get()


def lot(
    item: Item | None = None,
    *,
    status: Status = Status.RELEASED,
    received_on: date = DAY,
    organic_until: date | None = None,
    **values: Any,
) -> Lot:
    """A lot that came in from a supplier; organic, under a certificate of its own, on request."""
    item, of = item or material(), supplier()
    if organic_until:
        values["certificate"] = certificate(
            of, [item], valid_from=received_on - YEAR, valid_to=organic_until
        )
        values["is_organic"] = True
    at = values.pop("at", NOON)
    taken = receipt(arrived(item, **values), of=of, received_on=received_on, at=at)
    found: Lot = taken.lines.get().lot
    if status != Status.QUARANTINE:
        found = ledger.set_lot_status(found, status, by=make.user(), at=NOON, reason="Builder.")
    return found
