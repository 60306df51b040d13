"""What is really in a lot made here: INCI constituents, exact shares, which of them organic.

Through any depth of lots, down to what was bought (`bought_lot_organic_status.py`).
"""

from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import NamedTuple

from workshop.core.errors import ActionRefused
from workshop.goods_in.bought_lot_organic_status import organic_look_up
from workshop.ledger.lot_tree import Link
from workshop.ledger.lots_behind import LotsBehind, lots_behind
from workshop.ledger.models import ItemKind, Lot, LotQuerySet, Unit
from workshop.ledger.strained_out import Strained
from workshop.materials.ingredients import Shares, shares_of_profile
from workshop.materials.models import LABEL_SCHEME, profile_of
from workshop.rules.errors import RuleError
from workshop.rules.ingredients.composition import extract_of, flatten_tree


class Use(NamedTuple):
    """A lot that went in; `stays` names what is left of one that was strained out again."""

    lot: int
    stays: str = ""


def composition_of(lot: Lot) -> Shares:
    """The shares of everything in `lot`, by the grams that were taken for it.

    Packaging and whatever is counted in pieces is left out, but for units that were unpacked: what
    was in them is what they are made of. A bought lot is organic as it was
    received, and a bought blend is the parts that held on the day it came in. The number of
    queries does not depend on the depth. Raises ActionRefused if something in it has no
    ingredient profile. What was strained out again is not in it; the extract that it
    left is, with no share.
    """
    return compositions_of([lot])[lot.pk]


def compositions_of(lots: Iterable[Lot]) -> dict[int, Shares]:
    """The same for many lots at once, by their primary key."""
    found = compositions_or_why(lots)
    for shares in found.values():
        if isinstance(shares, ActionRefused):
            raise shares
    return {pk: shares for pk, shares in found.items() if not isinstance(shares, ActionRefused)}


def behind(lots: Iterable[Lot]) -> LotsBehind:
    """All that is behind these lots, with what their composition, allergens and limits ask for."""
    return lots_behind([lot.pk for lot in lots], _rows())


def compositions_or_why(
    lots: Iterable[Lot], *, scheme: str = LABEL_SCHEME, tree: LotsBehind | None = None
) -> dict[int, Shares | ActionRefused]:
    """The same, with what speaks against it in place of a composition that cannot be determined.

    `tree` is what is `behind` them, where it was read already.
    """
    wanted = [lot.pk for lot in lots]
    tree = tree or lots_behind(wanted, _rows())
    known = tree.lots
    is_organic = organic_look_up(known.values(), scheme=scheme)
    inputs = _inputs(tree.links, known, tree.strained)

    def leaf(use: Use) -> Shares:
        bought = known[use.lot]
        if use.stays and profile_of(bought.item) is None:
            return extract_of(use.stays, {})
        shares = _bought_composition(bought, is_organic(bought), scheme)
        return extract_of(use.stays, shares) if use.stays else shares

    def inputs_of(use: Use) -> list[tuple[Use, Fraction]]:
        return [] if use.stays else inputs.get(use.lot, [])

    def flat(pk: int) -> Shares | ActionRefused:
        try:
            return flatten_tree(Use(pk), inputs_of, leaf)
        except RuleError as error:
            return ActionRefused(str(error))
        except ActionRefused as refused:
            return refused

    return {pk: flat(pk) for pk in wanted}


def leaf_composition(lots: Iterable[Lot]) -> dict[int, Shares]:
    """The shares in each bought lot itself, organic where it is organic."""
    known = _rows().in_bulk({lot.pk for lot in lots})
    is_organic = organic_look_up(known.values())
    return {pk: _bought_composition(lot, is_organic(lot)) for pk, lot in known.items()}


def _rows() -> LotQuerySet:
    rows: LotQuerySet = Lot.objects.select_related("item__profile", "receipt_line__receipt")
    return rows.prefetch_related("item__profile__parts", "item__profile__organic_statuses")


def _inputs(
    links: Iterable[Link], known: Mapping[int, Lot], strained: Strained
) -> dict[int, list[tuple[Use, Fraction]]]:
    """What went into each lot, in grams; a posting counts once however many lots came out.

    Of what was strained out only the extract is left, and weighs nothing.
    """
    taken: dict[int, dict[int, tuple[Use, Fraction]]] = {}
    for link in links:
        stays = strained.get((link.operation_id, link.source_id))
        if stays == "" or not _has_contents(known[link.source_id]):
            continue
        grams = Fraction() if stays else Fraction(link.taken)
        use = Use(link.source_id, stays or ""), grams
        taken.setdefault(link.product_id, {})[link.taken_posting_id] = use
    return {product: list(uses.values()) for product, uses in taken.items()}


def _has_contents(lot: Lot) -> bool:
    """An unpacking takes units of one lot and nothing else, so that pieces are as good as grams."""
    if lot.item.kind == ItemKind.PRODUCT:
        return True
    return lot.item.unit == Unit.GRAM and lot.item.kind != ItemKind.PACKAGING


def _bought_composition(lot: Lot, is_organic: bool, scheme: str = LABEL_SCHEME) -> Shares:  # noqa: FBT001 -- by the same name
    profile = profile_of(lot.item)
    if profile is None:
        raise ActionRefused(_why_unknown(lot))
    return shares_of_profile(profile, on=lot.made_on, is_covered=is_organic, scheme=scheme)


def _why_unknown(lot: Lot) -> str:
    if lot.item.kind in (ItemKind.BULK, ItemKind.PRODUCT):
        return f"Nothing is recorded as weighed into lot {lot} of {lot.item}."
    return f"{lot.item} has no ingredient profile yet; an owner enters it under Materials."
