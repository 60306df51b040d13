"""What a typed name means on a delivery: something bought here, or a usual material to enter."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal

from workshop.goods_in.models import ReceiptLine
from workshop.ledger.models import Item, ItemKind, Unit
from workshop.materials.models import profile_of
from workshop.materials.usual import UsualMaterial, usual_materials
from workshop.rules.errors import RuleError
from workshop.rules.quantities.units import parse_count, parse_mass

Goods = Item | UsualMaterial
MOST_NAMED = 4


def bought_items() -> list[Item]:
    """The materials and packaging in use, with what a quantity needs to be read."""
    items = Item.objects.active().of_kind(ItemKind.MATERIAL, ItemKind.PACKAGING)
    return list(items.select_related("profile"))


@dataclass(frozen=True)
class KnownGoods:
    """All that a row may name, read once for a page. Only an owner enters usual materials."""

    items: list[Item]
    usual: dict[str, UsualMaterial] = field(default_factory=dict)

    @classmethod
    def now(cls, *, with_usual: bool) -> "KnownGoods":
        items = bought_items()
        have = {item.name.casefold() for item in items}
        usual = usual_materials().items() if with_usual else ()
        return cls(items, {key: one for key, one in usual if key not in have})

    @property
    def names(self) -> list[str]:
        """To choose from: the book's own first."""
        return [self.name_of(item) for item in self.items] + [
            one.name for one in self.usual.values()
        ]

    def name_of(self, goods: Goods) -> str:
        """The name, with the code behind it where two things have the same."""
        if isinstance(goods, UsualMaterial):
            return goods.name
        same = sum(item.name.casefold() == goods.name.casefold() for item in self.items)
        return f"{goods.name} ({goods.code})" if same > 1 else goods.name

    def find(self, said: str) -> Goods:
        """What is meant: a whole name or a code, else the one name that holds all the words.

        Raises RuleError where nothing is meant by it, or several things.
        """
        wanted = " ".join(said.split()).casefold()
        by_word = [item for item in self.items if wanted in _words_for(item)]
        if not by_word and wanted in self.usual:
            return self.usual[wanted]
        found = by_word or [
            item
            for item in self.items
            if all(part in item.name.casefold() for part in wanted.split())
        ]
        if len(found) == 1:
            return found[0]
        raise RuleError(self._what_else(said, found))

    def _what_else(self, said: str, found: list[Item]) -> str:
        shown = f"“{said[:60]}”"
        if not found:
            return (
                f"{shown} is neither in the book nor a usual material. Enter it under Materials"
                " first, or write a part of its name."
                if self.usual
                else f"{shown} is not in the book. An owner enters it under Materials."
            )
        names = ", ".join(self.name_of(item) for item in found[:MOST_NAMED])
        more = f" and {len(found) - MOST_NAMED} more" if len(found) > MOST_NAMED else ""
        return f"{shown} can be {names}{more}. Write more of the name."


def _words_for(item: Item) -> Iterable[str]:
    name, code = item.name.casefold(), item.code.casefold()
    return name, code, f"{name} ({code})"


def density_of(goods: Goods) -> Decimal | None:
    """g/mL, where it is known."""
    if isinstance(goods, UsualMaterial):
        return goods.figures.density_g_per_ml
    profile = profile_of(goods)
    return profile.density_g_per_ml if profile else None


def unit_of(goods: Goods) -> str:
    return Unit.GRAM if isinstance(goods, UsualMaterial) else goods.unit


def read_quantity(goods: Goods, text: str, *, allow_zero: bool = False) -> Decimal:
    """The quantity in the item's unit from what a delivery note says; raises RuleError."""
    if unit_of(goods) == Unit.EACH:
        return Decimal(parse_count(text, allow_zero=allow_zero))
    return parse_mass(text, density_g_per_ml=density_of(goods), allow_zero=allow_zero)


def bought_under(gtin: str) -> Item | None:
    """What came in last in a container with this number, 14 digits; None where nothing did."""
    lines = ReceiptLine.objects.effective().filter(supplier_gtin=gtin, lot__item__is_active=True)
    last = lines.select_related("lot__item__profile").order_by("-pk").first()
    return last.lot.item if last else None
