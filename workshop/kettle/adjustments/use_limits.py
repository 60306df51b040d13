"""Maximum use levels and allergen thresholds of a melt, before and after a change of weights."""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction

from workshop.kettle.models import Batch
from workshop.ledger.models import Item, ItemKind, Lot, Posting, Side
from workshop.materials.fragrance_allergens import (
    Allergens,
    bought_behind,
    mixed,
    shares_in_lots,
    usual_shares,
)
from workshop.materials.ingredients import Shares
from workshop.materials.models import UseLimit, profile_of
from workshop.rules.allergens.thresholds import (
    Naming,
    Use,
    allergen_limit_problems,
    naming_sentences,
    namings,
)
from workshop.rules.errors import RuleError
from workshop.rules.kettle.adjust import Limit, limit_sentence
from workshop.rules.quantities.units import Exact, show_number

Weights = Mapping[int, Exact]  # grams (or shares) by the key of the batch line
# The lots that a line is made of with their grams, by the same key; none: the item as it is bought.
Lots = Mapping[int, Sequence[tuple[Lot, Exact]]]
STEP = Decimal("0.00001")
ON_THE_SKIN = "Maximum use levels"


@dataclass(frozen=True)
class LimitRow:
    """One limit as it is shown, the shares in per cent; `state` and `word` say how it ends."""

    name: str
    what: str
    before: str
    after: str
    most: str
    state: str
    word: str


@dataclass(frozen=True)
class Melted:
    """A melt by its weights: the shares of its INCI names, and those of its lines."""

    composition: Shares
    weights: Weights

    def of_lines(self, share_of: Mapping[int, Fraction]) -> Fraction:
        """The share of something in the melt, from its share in each line."""
        return sum((s * share_of.get(pk, Fraction()) for pk, s in self.shares()), Fraction())

    def shares(self) -> list[tuple[int, Fraction]]:
        total = sum((Fraction(grams) for grams in self.weights.values()), Fraction())
        return [(pk, Fraction(grams) / total) for pk, grams in self.weights.items() if grams]


@dataclass(frozen=True)
class Bounds:
    """The limits there are, and how much each line brings of what they limit.

    `limits` count by INCI name. A limited material that is bought as a blend has no INCI name of
    its own in the melt, so `blends` give its share in each line.
    """

    use: Use
    on: date
    limits: tuple[Limit, ...] = ()
    blends: tuple[tuple[int, Limit, Mapping[int, Fraction]], ...] = ()
    allergens_of: Mapping[int, Allergens] = field(default_factory=dict)
    trouble: str = ""

    def with_lot(self, line_pk: int, lot: Lot) -> "Bounds":
        """The same once a line is made of `lot` alone."""
        items = items_in([(lot, Decimal(1))], bought_behind([lot]))
        blends = tuple(
            (item_pk, limit, {**share_of, line_pk: items.get(item_pk, Fraction())})
            for item_pk, limit, share_of in self.blends
        )
        try:
            own = shares_in_lots([lot])[lot.pk]
        except RuleError as error:
            return replace(self, blends=blends, trouble=str(error))
        return replace(self, blends=blends, allergens_of={**self.allergens_of, line_pk: own})

    def skin_shares(self, melted: Melted) -> list[Fraction]:
        """The share of each limited material, in the order of `skin_limits`."""
        by_name = [limit.share_in(melted.composition) for limit in self.limits]
        return by_name + [melted.of_lines(share_of) for _, _, share_of in self.blends]

    @property
    def skin_limits(self) -> list[Limit]:
        return [*self.limits, *(limit for _, limit, _ in self.blends)]

    def allergens(self, melted: Melted) -> Allergens:
        return mixed((share, self.allergens_of.get(pk, {})) for pk, share in melted.shares())


@dataclass(frozen=True)
class LimitCheck:
    """A change of a melt held against its limits."""

    before: Bounds
    after: Bounds
    melt: Melted
    changed: Melted

    @property
    def namings(self) -> list[Naming]:
        """Every allergen there is, unless something prohibited keeps them from being told."""
        if self.after.trouble:
            return []
        return namings(
            self.before.allergens(self.melt),
            self.after.allergens(self.changed),
            self.after.use,
            self.after.on,
        )

    def sentences(self) -> list[str]:
        """What goes beyond a limit, and which names an EU label must or need not carry then."""
        shares = zip(self.after.skin_limits, self.after.skin_shares(self.changed), strict=True)
        beyond = [limit_sentence(limit, share) for limit, share in shares if share > limit.most]
        if self.after.trouble:
            return [*beyond, self.after.trouble]
        allergens = self.after.allergens(self.changed)
        return [
            *beyond,
            *allergen_limit_problems(allergens),
            *naming_sentences(self.namings, self.after.use),
        ]

    def rows(self) -> list[LimitRow]:
        """Every limit with its share before and after: those on the skin, then the allergens."""
        before, after = self.before.skin_shares(self.melt), self.after.skin_shares(self.changed)
        skin = zip(self.after.skin_limits, before, after, strict=True)
        return [
            *(skin_row(limit, was, becomes) for limit, was, becomes in skin if was or becomes),
            *(naming_row(one, self.after.use) for one in self.namings),
        ]


def skin_row(limit: Limit, was: Fraction, becomes: Fraction) -> LimitRow:
    is_above = becomes > limit.most
    shown = (_percent(was), _percent(becomes), _percent(Fraction(limit.most)))
    state, word = ("rejected", "above its limit") if is_above else ("valid", "within its limit")
    return LimitRow(limit.name, ON_THE_SKIN, *shown, state, word)


def naming_row(one: Naming, use: Use) -> LimitRow:
    shown = (_percent(one.before), _percent(one.after), _percent(one.threshold))
    if not one.is_named:
        state, word = "plain", "named no longer" if one.was_named else "not named"
    elif one.was_named:
        state, word = "plain", "named, as before"
    else:
        state, word = "on_hold", "must then be named"
    what = f"Allergens ({use}), named on an EU label above the limit"
    return LimitRow(one.name, what, *shown, state, word)


def _percent(share: Fraction) -> str:
    """Per cent, to the hundredth part of the leave-on threshold."""
    return show_number(share * 100, STEP)


def bounds_of(use: Use, items: Mapping[int, Item], lots: Lots, *, on: date) -> Bounds:
    """Read the limits of a melt whose lines (by key) are of these items and lots."""
    known = skin_bounds(use, items, lots, on=on)
    everything = {lot.pk: lot for parts in lots.values() for lot, _ in parts}.values()
    try:
        return replace(known, allergens_of=_allergens(items, lots, everything, on))
    except RuleError as error:
        return replace(known, trouble=str(error))


def skin_bounds(
    use: Use,
    items: Mapping[int, Item],
    lots: Lots,
    *,
    on: date,
    behind: Mapping[int, Mapping[Lot, Fraction]] | None = None,
) -> Bounds:
    """The same without the allergens: how much of each limited material a line brings.

    `behind` are the bought lots behind each lot, where that is known already.
    """
    if behind is None:
        used = {lot.pk: lot for parts in lots.values() for lot, _ in parts}
        behind = bought_behind(used.values())
    share_of = {
        pk: items_in(lots.get(pk, ()), behind) or {item.pk: Fraction(1)}
        for pk, item in items.items()
    }
    limits, blends = _skin_limits(share_of, on)
    return Bounds(use, on, tuple(limits), tuple(blends))


def items_in(
    parts: Sequence[tuple[Lot, Exact]], behind: Mapping[int, Mapping[Lot, Fraction]]
) -> dict[int, Fraction]:
    """The share of each bought item in a mixture of lots."""
    total = sum((Fraction(grams) for _, grams in parts), Fraction())
    found: dict[int, Fraction] = {}
    for lot, grams in parts:
        for bought, share in behind[lot.pk].items():
            so_far = found.get(bought.item_id, Fraction())
            found[bought.item_id] = so_far + share * Fraction(grams) / total
    return found


def _skin_limits(
    share_of: Mapping[int, Mapping[int, Fraction]], on: date
) -> tuple[list[Limit], list[tuple[int, Limit, Mapping[int, Fraction]]]]:
    """Every limit on the skin, by INCI name, and line by line for what is bought as a blend."""
    limits: list[Limit] = []
    blends: list[tuple[int, Limit, Mapping[int, Fraction]]] = []
    rows = UseLimit.objects.select_related("item__profile")
    for row in rows.prefetch_related("item__profile__parts"):
        profile, most = profile_of(row.item), Fraction(row.most) / 100
        if profile and not profile.parts_on(on):
            limits.append(Limit(row.item.name, most, {profile.inci_name: 1}))
        else:
            own = {pk: items.get(row.item_id, Fraction()) for pk, items in share_of.items()}
            blends.append((row.item_id, Limit(row.item.name, most), own))
    return limits, blends


def _allergens(
    items: Mapping[int, Item], lots: Lots, everything: Iterable[Lot], on: date
) -> dict[int, Allergens]:
    in_lots = shares_in_lots(everything)
    bare = {pk: item for pk, item in items.items() if not lots.get(pk)}
    usual = usual_shares(bare.values(), on=on)
    found = {pk: usual[item.pk] for pk, item in bare.items()}
    for pk in items:
        if lots.get(pk):
            found[pk] = mixed((share, in_lots[lot.pk]) for lot, share in _by_share(lots[pk]))
    return found


def _by_share(parts: Sequence[tuple[Lot, Exact]]) -> Iterator[tuple[Lot, Fraction]]:
    total = sum((Fraction(grams) for _, grams in parts), Fraction())
    return ((lot, Fraction(grams) / total) for lot, grams in parts)


def use_of(batch: Batch) -> Use:
    """How the bulk of a batch is used: as its own formula says, whatever went into it."""
    return "rinse-off" if batch.version.is_rinse_off else "leave-on"


def uses_behind(lots: Collection[Lot]) -> dict[int, Use]:
    """How each finished lot is used, by the formulas of the bulk in it; leave-on where in doubt.

    What that bulk was made from does not count: an infusion is used as what it went into. The
    number of queries does not depend on how many lots are asked for.
    """
    bulk = Posting.objects.effective().filter(
        operation__in=[lot.origin_id for lot in lots], side=Side.IN, lot__item__kind=ItemKind.BULK
    )
    rows = bulk.values_list("operation", "lot__origin__batch__version__is_rinse_off")
    said: dict[int, set[bool | None]] = {}
    for operation, is_rinse_off in rows:
        said.setdefault(operation, set()).add(is_rinse_off)
    return {
        lot.pk: "rinse-off" if said.get(lot.origin_id) == {True} else "leave-on" for lot in lots
    }
