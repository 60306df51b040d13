"""Fragrance allergens in a lot or a formula: a lot's certificate beats its item's usual figures."""

from collections.abc import Iterable, Mapping
from datetime import date
from fractions import Fraction

from workshop.ledger.lot_tree import Link
from workshop.ledger.lots_behind import LotsBehind, lots_behind
from workshop.ledger.models import Item, ItemKind, Lot, Unit
from workshop.materials.models import AllergenContent, Profile, profile_of
from workshop.rules.allergens.thresholds import FragranceMaterial, allergen_shares, find_allergens
from workshop.rules.errors import RuleError
from workshop.rules.ingredients.composition import lot_shares

Content = Mapping[str, Fraction]
# The share of each listed allergen, by its label name.
Allergens = dict[str, Fraction]


def shares_in_lots(lots: Iterable[Lot]) -> dict[int, Allergens]:
    """The share of each listed allergen in each lot, summed over every bought lot behind it.

    By the lots' primary keys; the number of queries stays the same for any number of lots.

    Raises RuleError for a prohibited substance.
    """
    found = shares_or_why(lots)
    for shares in found.values():
        if isinstance(shares, RuleError):
            raise shares
    return {pk: shares for pk, shares in found.items() if not isinstance(shares, RuleError)}


def shares_or_why(
    lots: Iterable[Lot], *, tree: LotsBehind | None = None
) -> dict[int, Allergens | RuleError]:
    """The same, with the error in place of shares that a prohibited substance spoils."""
    return shares_in_bought(bought_behind(lots, tree=tree))


def shares_in_bought(
    behind: Mapping[int, Mapping[Lot, Fraction]],
) -> dict[int, Allergens | RuleError]:
    """The same, where it is known already which bought lots they are made of."""
    content_of = _contents({lot.pk: lot for shares in behind.values() for lot in shares})

    def of(shares: Mapping[Lot, Fraction]) -> Allergens | RuleError:
        try:
            return mixed((share, _known(content_of[lot.pk])) for lot, share in shares.items())
        except RuleError as error:
            return error

    return {pk: of(shares) for pk, shares in behind.items()}


def _known(shares: Allergens | RuleError) -> Allergens:
    if isinstance(shares, RuleError):
        raise shares
    return shares


def bought_behind(
    lots: Iterable[Lot], *, tree: LotsBehind | None = None
) -> dict[int, dict[Lot, Fraction]]:
    """Which bought lots each lot is made of, in what shares; a bought lot is its own.

    Lots that were strained out come on top of the whole, as `lot_shares` has it. `tree` is what
    is behind them, where it was read already, its lots with their profiles.
    """
    wanted = [lot.pk for lot in lots]
    if tree is None:
        rows = Lot.objects.select_related("item__profile").prefetch_related("item__profile__parts")
        tree = lots_behind(wanted, rows)
    known, taken = tree.lots, _taken(tree.links, tree.lots)
    # What an herb brings may have gone into the oil that it was strained out of, as far as known.
    strained = {
        (link.product_id, link.source_id)
        for link in tree.links
        if (link.operation_id, link.source_id) in tree.strained
    }

    def inputs_of(pk: int) -> list[tuple[int, Fraction]]:
        return list(taken.get(pk, {}).values())

    return {
        pk: {
            known[one]: share
            for one, share in lot_shares(pk, inputs_of, strained).items()
            if one not in taken
        }
        for pk in wanted
    }


def shares_in_items(parts: Mapping[Item, Fraction], *, on: date) -> Allergens:
    """The same for a formula not made yet, from the usual figures of its items on that day."""
    usual = usual_shares(parts, on=on)
    return mixed((share, usual[item.pk]) for item, share in parts.items())


def usual_shares(items: Iterable[Item], *, on: date) -> dict[int, Allergens]:
    """The usual share of each allergen in each item, by its primary key."""
    items = list(items)
    figures = _by_key((row.item_id, row) for row in AllergenContent.objects.filter(item__in=items))
    return {
        item.pk: allergen_shares(_materials(item, figures.get(item.pk, {}), on=on))
        for item in items
    }


def mixed(parts: Iterable[tuple[Fraction, Mapping[str, Fraction]]]) -> Allergens:
    """The shares in a mixture of which each part, by its share of the whole, brings some."""
    found: Allergens = {}
    for share, allergens in parts:
        for name, content in allergens.items():
            found[name] = found.get(name, Fraction()) + share * content
    return found


def _taken(
    links: Iterable[Link], known: Mapping[int, Lot]
) -> dict[int, dict[int, tuple[int, Fraction]]]:
    """What went into each lot, in grams; a posting counts once however many lots came out."""
    taken: dict[int, dict[int, tuple[int, Fraction]]] = {}
    for link in links:
        if _is_weighed(known[link.source_id].item):
            uses = taken.setdefault(link.product_id, {})
            uses[link.taken_posting_id] = link.source_id, Fraction(link.taken)
    return taken


def _is_weighed(item: Item) -> bool:
    return item.unit == Unit.GRAM and item.kind != ItemKind.PACKAGING


def _contents(lots: Mapping[int, Lot]) -> dict[int, Allergens | RuleError]:
    """The allergens of each bought lot: its own figures when there are any, else its item's."""
    own = _by_key((row.lot_id, row) for row in AllergenContent.objects.filter(lot__in=lots))
    items = {lot.item_id for lot in lots.values()}
    usual = _by_key((row.item_id, row) for row in AllergenContent.objects.filter(item__in=items))

    def of(lot: Lot) -> Allergens | RuleError:
        content = own.get(lot.pk) or usual.get(lot.item_id, {})
        try:
            return allergen_shares(_materials(lot.item, content, on=lot.made_on))
        except RuleError as error:
            return error

    return {pk: of(lot) for pk, lot in lots.items()}


def _by_key(
    rows: Iterable[tuple[int | None, AllergenContent]],
) -> dict[int | None, dict[str, Fraction]]:
    found: dict[int | None, dict[str, Fraction]] = {}
    for key, row in rows:
        found.setdefault(key, {})[row.name] = Fraction(row.share) / 100
    return found


def _materials(item: Item, content: Content, *, on: date) -> Iterable[FragranceMaterial]:
    """The material itself, and of a bought blend each part, as some oils are named as such."""
    profile: Profile | None = profile_of(item)
    parts = profile.parts_on(on) if profile else []
    name = _own_name(profile) if profile and not parts else ""
    yield FragranceMaterial(name, 1, content)
    for part in parts:
        yield FragranceMaterial(part.inci_name, Fraction(part.share) / 100)


def _own_name(profile: Profile) -> str:
    """The INCI name, or where the list knows it by another the CAS number, if that is plain."""
    by_number = find_allergens(profile.cas) if not find_allergens(profile.inci_name) else ()
    return profile.cas if len(by_number) == 1 else profile.inci_name
