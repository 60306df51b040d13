"""A product is described: a bulk in a container, filled to a weight."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.saving.with_history import save_with_history
from workshop.ledger.models import Item, ItemKind, Unit
from workshop.packing.models import Product
from workshop.rules.codes.gs1 import check_gtin, gtin14
from workshop.rules.errors import RuleError
from workshop.rules.labels.product_name import without_contents

# A unit's own label has room for these; a 14-digit GTIN identifies a carton.
UNIT_GTIN_LENGTHS = (8, 12, 13)
CONTENTS = ("bulk", "container", "fill_g", "fill_ml", "density_g_per_ml")
WORDS = (
    "unit_name",
    "shelf_life_months",
    "identity",
    "directions",
    "cautions",
    "claims_organic",
    "is_small_package",
)


@dataclass(frozen=True, kw_only=True)
class ProductFacts:
    """Everything that describes a product, as its form gives it.

    Sold by volume, `fill_g` is what that volume weighs at its density.
    """

    code: str
    name: str
    bulk: Item
    container: Item
    fill_g: Decimal
    fill_ml: Decimal | None = None
    density_g_per_ml: Decimal | None = None
    unit_name: str = "tin"
    shelf_life_months: int | None = None
    gtin: str = ""
    label_name: str = ""
    identity: str = ""
    directions: str = ""
    cautions: str = ""
    claims_organic: bool = False
    is_small_package: bool = False
    is_active: bool = True


@transaction.atomic
def save_product(
    facts: ProductFacts, *, by: User, at: datetime | None = None, product: Product | None = None
) -> Product:
    """Keep a new product, or the changed facts of `product`.

    What a unit holds cannot change once units were packed: their labels would become untrue.
    """
    _refuse_wrong_parts(facts.bulk, facts.container)
    if product is not None:
        product = Product.objects.select_for_update(of=("self",)).get(pk=product.pk)
        _refuse_other_contents(product, facts)
    item = product.item if product else Item(kind=ItemKind.PRODUCT, unit=Unit.EACH)
    item.code, item.name, item.is_active = facts.code, facts.name, facts.is_active
    product = product or Product()
    product.item = save_with_history(item, by=by, at=at)
    for name in (*CONTENTS, *WORDS):
        setattr(product, name, getattr(facts, name))
    product.label_name = facts.label_name or without_contents(facts.name)
    product.gtin = _own_gtin(facts.gtin, product)
    return save_with_history(product, by=by, at=at)


def _refuse_other_contents(product: Product, facts: ProductFacts) -> None:
    if not product.runs.exists():
        return
    for name in CONTENTS:
        if getattr(product, name) != getattr(facts, name):
            raise ActionRefused(
                f"Units of {product} were already packed, and their labels must stay correct. "
                "Make a new product for another content.",
                field=name,
            )


def _refuse_wrong_parts(bulk: Item, container: Item) -> None:
    if bulk.kind != ItemKind.BULK:
        raise ActionRefused(f"{bulk} is not a bulk made here.", field="bulk")
    if container.kind != ItemKind.PACKAGING or container.unit != Unit.EACH:
        raise ActionRefused(f"{container} is not packaging counted in pieces.", field="container")


def _own_gtin(text: str, product: Product) -> str:
    """The GTIN's digits, checked, and not another product's under any length."""
    if not text.strip():
        return ""
    try:
        gtin = check_gtin(text)
    except RuleError as error:
        raise ActionRefused(str(error), field="gtin") from error
    if len(gtin) not in UNIT_GTIN_LENGTHS:
        raise ActionRefused(
            "A 14-digit GTIN identifies a carton; a single unit has a GTIN of 8, 12 or 13 digits.",
            field="gtin",
        )
    taken = Product.objects.exclude(gtin="").exclude(pk=product.pk)
    for other in taken.filter(gtin__endswith=gtin.lstrip("0")):
        if gtin14(other.gtin) == gtin14(gtin):
            raise ActionRefused(f"{other} already has this GTIN.", field="gtin")
    return gtin
