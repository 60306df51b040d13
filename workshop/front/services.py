"""What the first page of a new book keeps in one go."""

from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from workshop.core.models import User
from workshop.goods_in.services import save_supplier
from workshop.kettle.models import Kettle, Scale
from workshop.kettle.services.equipment import save_equipment
from workshop.ledger.item_codes import free_code
from workshop.ledger.models import ItemKind
from workshop.materials.services.materials import Material, save_material


@dataclass(frozen=True)
class Workplace:
    """Whatever of it is not there yet: names of a container and a supplier, a kettle, a scale."""

    packaging: str = ""
    kettle: Kettle | None = None
    scale: Scale | None = None
    supplier: str = ""


@transaction.atomic
def keep_workplace(given: Workplace, *, by: User, at: datetime) -> list[str]:
    """All of it or nothing; what was kept, by name."""
    kept: list[object] = []
    if given.packaging:
        name = given.packaging
        tin = Material(code=free_code(name), name=name, kind=ItemKind.PACKAGING)
        kept.append(save_material(tin, by=by, at=at))
    kept += [save_equipment(one, by=by, at=at) for one in (given.kettle, given.scale) if one]
    if given.supplier:
        kept.append(save_supplier({"name": given.supplier}, by=by, at=at))
    return [str(one) for one in kept]
