"""Fragrance allergens in a lot or a formula: a lot's certificate beats its item's usual figures."""

from collections.abc import Callable, Iterable, Mapping
from fractions import Fraction

from workshop.goods_in.models import Profile, profile_of
from workshop.labels.models import AllergenContent
from workshop.ledger.models import Item, Kind, Lot, Unit
from workshop.ledger.tree import links_back
from workshop.rules.allergens import FragranceMaterial, allergen_shares
from workshop.rules.composition import lot_shares

Content = Mapping[str, Fraction]


def shares_in_lot(lot: Lot) -> dict[str, Fraction]:
    """The share of each listed allergen in `lot`, summed over every bought lot behind it."""
    links = links_back([lot.pk])
    pks = {lot.pk, *(link.source_id for link in links)}
    lots = Lot.objects.select_related("item__profile").prefetch_related("item__profile__parts")
    known = lots.in_bulk(pks)
    taken: dict[int, dict[int, tuple[int, Fraction]]] = {}
    for link in links:
        if _is_weighed(known[link.source_id].item):
            uses = taken.setdefault(link.product_id, {})
            uses[link.taken_posting_id] = link.source_id, Fraction(link.taken)

    def inputs_of(pk: int) -> list[tuple[int, Fraction]]:
        return list(taken.get(pk, {}).values())

    shares = lot_shares(lot.pk, inputs_of)
    bought = {pk: share for pk, share in shares.items() if pk not in taken}
    content_of = _contents([known[pk] for pk in bought])
    materials = [
        material
        for pk, share in bought.items()
        for material in _materials(known[pk].item, share, content_of(known[pk]))
    ]
    return allergen_shares(materials)


def shares_in_items(parts: Mapping[Item, Fraction]) -> dict[str, Fraction]:
    """The same for a formula not made yet, from the usual figures of its items."""
    rows = AllergenContent.objects.filter(item__in=parts)
    usual = _by_key((row.item_id, row) for row in rows)
    materials = [
        material
        for item, share in parts.items()
        for material in _materials(item, share, usual.get(item.pk, {}))
    ]
    return allergen_shares(materials)


def _is_weighed(item: Item) -> bool:
    return item.unit == Unit.GRAM and item.kind != Kind.PACKAGING


def _contents(lots: list[Lot]) -> Callable[[Lot], Content]:
    """Figures of each lot: its own when there are any, else its item's."""
    own = _by_key(
        (row.lot_id, row) for row in AllergenContent.objects.filter(lot__in=[x.pk for x in lots])
    )
    items = {lot.item_id for lot in lots}
    usual = _by_key((row.item_id, row) for row in AllergenContent.objects.filter(item__in=items))
    return lambda lot: own.get(lot.pk) or usual.get(lot.item_id, {})


def _by_key(
    rows: Iterable[tuple[int | None, AllergenContent]],
) -> dict[int | None, dict[str, Fraction]]:
    found: dict[int | None, dict[str, Fraction]] = {}
    for key, row in rows:
        found.setdefault(key, {})[row.name] = Fraction(row.share) / 100
    return found


def _materials(item: Item, share: Fraction, content: Content) -> Iterable[FragranceMaterial]:
    """The material itself, and of a bought blend each part, as some oils are named as such."""
    profile: Profile | None = profile_of(item)
    parts = list(profile.parts.all()) if profile else []
    name = profile.inci_name if profile and not parts else ""
    yield FragranceMaterial(name, share, content)
    for part in parts:
        yield FragranceMaterial(part.inci_name, share * Fraction(part.share) / 100)
