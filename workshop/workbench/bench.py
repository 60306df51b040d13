"""All that the book knows of what is tried, read at once for both columns."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from fractions import Fraction

from workshop.core.errors import ActionRefused
from workshop.core.models import Workshop
from workshop.costs.models import Rates, SalesPrice
from workshop.costs.values.lot_values import rates_known, stands_for, values_of
from workshop.formulas.models import Version
from workshop.goods_in.lot_composition import behind, compositions_or_why
from workshop.kettle.adjustments.use_limits import Bounds, skin_bounds
from workshop.kettle.models import Kettle, Scale
from workshop.kettle.soap_readiness import binding_among
from workshop.labels.approval.roll_stock import rolls_of
from workshop.labels.content.inputs import inputs_of_formula
from workshop.labels.content.label import known_workshop
from workshop.labels.content.market_terms import MarketTerms, terms_of
from workshop.labels.models import LabelVersion
from workshop.ledger.inherited_best_before import due_dates
from workshop.ledger.lots_behind import LotsBehind
from workshop.ledger.models import Item, ItemKind, Lot
from workshop.materials.fragrance_allergens import (
    Allergens,
    bought_behind,
    mixed,
    shares_in_bought,
    usual_shares,
)
from workshop.materials.ingredients import Shares, shares_of_profile
from workshop.materials.models import profile_of
from workshop.packing.models import Product
from workshop.packing.runs.lot_offers import LotOffer, propose_packaging
from workshop.rules.errors import RuleError
from workshop.rules.ingredients.composition import compose
from workshop.rules.money.lot_costs import UnitCost
from workshop.workbench.supply import Parts, Supply, supply_of
from workshop.workbench.trial import Trial

Bought = Mapping[int, Mapping[Lot, Fraction]]
UNKNOWN = UnitCost(Fraction(), is_whole=False)


@dataclass(frozen=True)
class Known:
    """What one line is made of, by the lots that it is drawn from or as it is bought."""

    parts: Parts
    composition: Shares
    allergens: Allergens


@dataclass(frozen=True)
class Bench:
    """Facts by lot, by line, by product; `lines` are those of each trial, by their place."""

    on: date
    supply: Supply
    lines: Sequence[Mapping[int, Known]]
    bounds: Bounds
    costs: Mapping[int, UnitCost]
    stands_for: Mapping[int, Fraction]
    dates: Mapping[int, date | None]
    packaging: Sequence[Parts]
    rates: Sequence[Rates]
    prices: Mapping[tuple[int, str], SalesPrice]
    scales: Sequence[Scale]
    largest_kettle_g: Decimal | None
    workshop: Workshop | None
    products: Sequence[Product]
    labels: Sequence[LabelVersion]
    rolls: Mapping[int, Sequence[Lot]]
    terms: MarketTerms
    _binding: dict[frozenset[int], set[int]] = field(default_factory=dict)

    def binding(self, lots: Iterable[Lot]) -> set[int]:
        """The keys of those whose date limits what is melted of them all."""
        together = {lot.pk: lot for lot in lots}
        key = frozenset(together)
        if key not in self._binding:
            self._binding[key] = {lot.pk for lot in binding_among(list(together.values()))}
        return self._binding[key]


def bench_of(trials: Sequence[Trial], *, on: date) -> Bench:
    """Read what all columns need; the number of queries does not depend on their lines.

    The first two are what is compared, the rest what is made of it further on. Raises
    ActionRefused for what nobody has described.
    """
    supply = supply_of(trials, on=on)
    parts = [
        {place: supply.parts(line, trial.grams(line)) for place, line in enumerate(trial.lines)}
        for trial in trials
    ]
    packaging = _packaging(trials, on=on)
    weighed = _lots(one for column in parts for one in column.values())
    packed = _lots(packaging)
    used = {**packed, **weighed}
    # Read once for all that is asked about these lots.
    tree = behind(used.values())
    bought = bought_behind(weighed.values(), tree=tree)
    bulks = {trial.version.formula.item_id for trial in trials}
    rows = Product.objects.filter(bulk__in=bulks, item__is_active=True)
    products = list(rows.select_related("item", "label_design"))
    labels = LabelVersion.objects.approved().filter(product__in=products).order_by("product", "pk")
    approved = list(labels.select_related("product__item"))
    lines = _known(trials, parts, weighed, tree, bought, on=on)
    rates = rates_known()
    capacities = [kettle.capacity_g for kettle in Kettle.objects.filter(is_active=True)]
    return Bench(
        on=on,
        supply=supply,
        lines=lines,
        bounds=_bounds(trials, parts, bought, on=on),
        costs=values_of(used, links=tree.links, rates=rates).costs,
        stands_for=stands_for(used),
        dates=due_dates(used, links=tree.links),
        packaging=packaging,
        rates=rates,
        prices=SalesPrice.objects.on(on),
        scales=list(Scale.objects.filter(is_active=True)),
        largest_kettle_g=max(capacities, default=None),
        workshop=Workshop.objects.first(),
        products=products,
        labels=approved,
        rolls=rolls_of(approved),
        terms=terms_of(product.pk for product in products),
    )


def workshop_of(bench: Bench) -> Workshop:
    return known_workshop(bench.workshop)


def _lots(many: Iterable[Parts]) -> dict[int, Lot]:
    return {lot.pk: lot for parts in many for lot, _ in parts}


def key_of(column: int, place: int) -> int:
    """A key for a line of one column that no line of the other has."""
    return 1000 * column + place


def _bounds(
    trials: Sequence[Trial], parts: Sequence[Mapping[int, Parts]], bought: Bought, *, on: date
) -> Bounds:
    items = {
        key_of(column, place): line.item
        for column, trial in enumerate(trials)
        for place, line in enumerate(trial.lines)
    }
    lots = {
        key_of(column, place): [(lot, grams) for lot, grams in drawn if grams]
        for column, lines in enumerate(parts)
        for place, drawn in lines.items()
    }
    return skin_bounds("leave-on", items, lots, on=on, behind=bought)


def _known(
    trials: Sequence[Trial],
    parts: Sequence[Mapping[int, Parts]],
    weighed: Mapping[int, Lot],
    tree: LotsBehind,
    bought: Bought,
    *,
    on: date,
) -> list[dict[int, Known]]:
    compositions = compositions_or_why(weighed.values(), tree=tree)
    allergens = shares_in_bought(bought)
    bare = _bare_items(trials, parts)
    usual = usual_shares(bare.values(), on=on)
    found: list[dict[int, Known]] = []
    for trial, column in zip(trials, parts, strict=True):
        known = {}
        for place, line in enumerate(trial.lines):
            drawn = column[place]
            if drawn:
                known[place] = _of_lots(drawn, compositions, allergens)
            else:
                known[place] = _as_bought(line.item, usual.get(line.item.pk, {}), on=on)
        found.append(known)
    return found


def _bare_items(trials: Sequence[Trial], parts: Sequence[Mapping[int, Parts]]) -> dict[int, Item]:
    """What never came in: known by its profile alone."""
    return {
        line.item.pk: line.item
        for trial, column in zip(trials, parts, strict=True)
        for place, line in enumerate(trial.lines)
        if not column[place]
    }


def _of_lots(
    drawn: Parts,
    compositions: Mapping[int, Shares | ActionRefused],
    allergens: Mapping[int, Allergens | RuleError],
) -> Known:
    shares, brought = [], []
    total = sum((grams for _, grams in drawn), Fraction())
    for lot, grams in drawn:
        composition, listed = compositions[lot.pk], allergens[lot.pk]
        if isinstance(composition, ActionRefused):
            raise composition
        if isinstance(listed, RuleError):
            raise ActionRefused(str(listed)) from listed
        shares.append((grams, composition))
        brought.append((grams / total, listed))
    return Known(drawn, compose(shares), mixed(brought))


def _as_bought(item: Item, usual: Allergens, *, on: date) -> Known:
    """A material by its profile, a bulk by its approved formula."""
    profile = profile_of(item)
    if profile is not None:
        covered = shares_of_profile(profile, on=on, is_covered=profile.is_organic)
        return Known([], covered, usual)
    version = Version.objects.approved().filter(formula__item=item).in_full().first()
    if item.kind != ItemKind.BULK or version is None:
        raise ActionRefused(
            f"{item} has neither a lot, nor an ingredient profile or an approved formula, so what "
            "it does cannot be determined. An owner enters its profile under Materials."
        )
    basis = inputs_of_formula(version, on=on)
    return Known([], dict(basis.composition), dict(basis.allergens))


# ---- What it is packed in ------------------------------------------------------------------------


def _packaging(trials: Sequence[Trial], *, on: date) -> list[Parts]:
    """The lots that the units of each trial would be packed in, in pieces."""
    found: dict[tuple[int, int], Parts] = {}
    answers = []
    for trial in trials:
        key = (trial.product.pk if trial.product else 0, trial.units)
        if key not in found:
            found[key] = _packed_in(trial, on=on) if trial.product and trial.units else []
        answers.append(found[key])
    return answers


def _packed_in(trial: Trial, *, on: date) -> Parts:
    assert trial.product is not None  # noqa: S101 -- for the type checker
    containers, others, _ = propose_packaging(trial.product, trial.units, on=on)
    return [*_containers(containers, trial.units), *_others(others)]


def _containers(offers: Sequence[LotOffer], units: int) -> Parts:
    """The proposed lots, in their proportion where they are too few; else the newest."""
    drawn = [(offer.lot, Fraction(offer.proposed)) for offer in offers if offer.proposed]
    drawn = drawn or [(offer.lot, Fraction(1)) for offer in offers[:1]]
    total = sum((pieces for _, pieces in drawn), Fraction())
    return [(lot, units * pieces / total) for lot, pieces in drawn]


def _others(offers: Sequence[LotOffer]) -> Parts:
    return [(offer.lot, Fraction(offer.proposed)) for offer in offers if offer.proposed]
