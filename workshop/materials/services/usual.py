"""Take a usual material into the book: from then on it is the workshop's own."""

from dataclasses import replace
from datetime import datetime

from django.db import transaction

from workshop.core.models import User
from workshop.ledger.item_codes import free_code
from workshop.ledger.models import Item, ItemKind
from workshop.materials.services.data_sheets import save_contents
from workshop.materials.services.materials import save_material
from workshop.materials.usual import UsualMaterial

SOURCE = "usual figures; the certificate of the lot comes first"


@transaction.atomic
def take_usual(usual: UsualMaterial, *, by: User, at: datetime) -> Item:
    """Enter the material, unless one of this name is there already; answer with it."""
    known = Item.objects.filter(kind=ItemKind.MATERIAL, name__iexact=usual.name).first()
    if known:
        return known
    material = replace(usual.figures, code=free_code(usual.name))
    item = save_material(material, by=by, at=at)
    if usual.allergens:
        save_contents(item, usual.allergens, source=SOURCE, by=by, at=at)
    return item
