"""What a trial comes to: the figures that a real batch of these weights would have."""

from collections.abc import Mapping
from copy import copy
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from types import MappingProxyType

from workshop.core.errors import ActionRefused
from workshop.costs.values.lot_values import work_cost
from workshop.kettle.adjustments.use_limits import Melted
from workshop.kettle.equipment.scale_suitability import as_rule
from workshop.kettle.models import Scale
from workshop.labels.approval.print_status import untrue_if_made
from workshop.labels.content.computed_statements import Wording, wording_of
from workshop.labels.content.inputs import LabelInputs
from workshop.labels.content.label import design_of, markets_of
from workshop.labels.models import LabelVersion
from workshop.ledger.models import Item
from workshop.materials.fragrance_allergens import Allergens, mixed
from workshop.materials.ingredients import Shares
from workshop.materials.saponification import Soap
from workshop.packing.models import Product
from workshop.rules.allergens.thresholds import Use
from workshop.rules.dates.best_before import best_before
from workshop.rules.dates.inherited_dates import MadeLot, tree_dates
from workshop.rules.errors import RuleError
from workshop.rules.ingredients.composition import compose, extract_of, lot_shares
from workshop.rules.ingredients.organic_share import OrganicClassification, organic_classification
from workshop.rules.labels.net_volume import volume_of
from workshop.rules.labels.stated_and_found import Difference
from workshop.rules.money.amounts import margin_percent
from workshop.rules.money.lot_costs import Making, UnitCost, made_cost
from workshop.rules.quantities.scales import smallest_batch_g
from workshop.workbench.bench import UNKNOWN, Bench, Known, key_of, workshop_of
from workshop.workbench.supply import Parts
from workshop.workbench.trial import Trial

# Keys of what nobody made yet, where the book's lots have theirs above nought.
BULK, UNIT, BARE, BULK_BEHIND = -1, -2, -100, -1000


@dataclass(frozen=True)
class Margin:
    """What is left of a price in one channel."""

    channel: str
    price: Decimal
    percent: Fraction | None


@dataclass(frozen=True)
class LabelOutcome:
    """An approved label, and every way in which it would be untrue."""

    version: LabelVersion
    untrue: tuple[Difference, ...]
    trouble: str = ""


class Outcome:
    """One column: a trial with the facts about it. Figures are worked out when asked for."""

    def __init__(
        self,
        trial: Trial,
        bench: Bench,
        column: int,
        made_of: Mapping[int, "Outcome"] = MappingProxyType({}),
    ) -> None:
        """`made_of` are outcomes by bulk item that stand in for the lots of it."""
        self.trial, self.bench, self.column = trial, bench, column
        self.known = dict(bench.lines[column])
        self.made_of = {}
        self._wordings: dict[tuple[int, str], Wording] = {}
        for place, line in enumerate(trial.lines):
            other = made_of.get(line.item.pk)
            if other is not None:
                self.known[place] = Known([], other.composition, other.allergens)
                self.made_of[BULK_BEHIND - place] = other

    # ---- What is in it ---------------------------------------------------------------------------

    @cached_property
    def composition(self) -> Shares:
        """As the composition of a lot: what is strained out leaves its extract and no weight."""
        return compose(
            (Fraction(), extract_of(line.stays, self.known[place].composition))
            if line.is_strained_out
            else (self.trial.grams(line), self.known[place].composition)
            for place, line in enumerate(self.trial.lines)
        )

    @cached_property
    def allergens(self) -> Allergens:
        """As those of a lot: what is strained out comes on top, as `lot_shares` has it."""
        weights = [(place, self.trial.grams(one)) for place, one in enumerate(self.trial.lines)]
        strained = {
            (BULK, place) for place, one in enumerate(self.trial.lines) if one.is_strained_out
        }
        shares = lot_shares(BULK, lambda key: weights if key == BULK else [], strained)
        return mixed((shares[place], self.known[place].allergens) for place, _ in weights)

    @cached_property
    def organic(self) -> OrganicClassification:
        return organic_classification(self.composition)

    @cached_property
    def soap(self) -> Soap | None:
        """The lye and the fats in it, if there is lye."""
        soap = Soap(self.composition)
        return soap if soap.alkali else None

    @property
    def use(self) -> Use:
        return "rinse-off" if self.trial.version.is_rinse_off else "leave-on"

    # ---- Limits ----------------------------------------------------------------------------------

    @cached_property
    def skin_shares(self) -> list[Fraction]:
        weights = {
            key_of(self.column, place): self.trial.grams(line)
            for place, line in enumerate(self.trial.lines)
        }
        return self.bench.bounds.skin_shares(Melted(self.composition, weights))

    # ---- Money -----------------------------------------------------------------------------------

    @cached_property
    def bulk_cost(self) -> UnitCost:
        """Of a gram poured, by the lots that it would be weighed from."""
        taken: dict[int, Fraction] = {}
        costs = dict(self.bench.costs)
        for place, line in enumerate(self.trial.lines):
            self._take(taken, self.known[place].parts)
            if not self.known[place].parts:
                costs[BARE - place] = UNKNOWN
                taken[BARE - place] = self.trial.grams(line)
        return self._made(BULK, taken, self.trial.made_g, self.trial.batch_minutes, costs)

    def _take(self, taken: dict[int, Fraction], parts: Parts) -> None:
        """What is taken of each lot, as it was before it dried."""
        for lot, quantity in parts:
            factor = self.bench.stands_for.get(lot.pk, Fraction(1))
            taken[lot.pk] = taken.get(lot.pk, Fraction()) + quantity * factor

    def _made(
        self,
        key: int,
        taken: Mapping[int, Fraction],
        quantity: Fraction,
        minutes: int | None,
        costs: Mapping[int, UnitCost],
    ) -> UnitCost:
        rates = self.bench.rates
        work = None if minutes is None else work_cost(minutes, rates, self.bench.on)
        making = Making(
            taken=taken,
            made={key: quantity},
            added=work or Fraction(),
            is_added_known=work is not None or not rates,
        )
        known = {lot: costs.get(lot, UNKNOWN) for lot in taken}
        return made_cost(key, [making], known)

    @cached_property
    def unit_cost(self) -> UnitCost | None:
        """Of one unit with what it is packed in; None where nothing is packed of it."""
        trial, units = self.trial, self.trial.units
        if not units or trial.fill_g is None:
            return None
        # A cured gram stands for more of what was poured.
        taken = {BULK: units * Fraction(trial.fill_g) / trial.share_left}
        self._take(taken, self.bench.packaging[self.column])
        costs = {**self.bench.costs, BULK: self.bulk_cost}
        return self._made(UNIT, taken, Fraction(units), trial.run_minutes, costs)

    @cached_property
    def margins(self) -> list[Margin]:
        cost, product = self.unit_cost, self.trial.product
        if cost is None or product is None:
            return []
        return [
            Margin(channel, row.price, margin_percent(row.price, cost.amount))
            for (item, channel), row in sorted(self.bench.prices.items())
            if item == product.item_id
        ]

    # ---- Days and weights ------------------------------------------------------------------------

    @cached_property
    def due(self) -> date | None:
        """Until when a unit packed today would keep, or the bulk where nothing is packed of it."""
        packed = frozenset(lot.pk for lot, _ in self.bench.packaging[self.column])
        return self._due(self.trial.product, packed)

    @cached_property
    def _bulk_due(self) -> date | None:
        """Until when the bulk keeps, by its own months and all that is weighed into it."""
        weighed = [lot for known in self.known.values() for lot, _ in known.parts]
        binding = self.bench.binding(weighed)
        own = best_before(self.bench.on, self.trial.version.shelf_life_months, [])
        bulk = MadeLot(self.bench.on, own, frozenset(binding | self.made_of.keys()))
        behind = {key: other._bulk_due for key, other in self.made_of.items()}
        return tree_dates({BULK: bulk}, {**self.bench.dates, **behind})[BULK]

    def _due(self, product: Product | None, packed: frozenset[int] = frozenset()) -> date | None:
        if product is None:
            return self._bulk_due
        months = product.shelf_life_months or self.trial.version.shelf_life_months
        own = best_before(self.bench.on, months, [])
        unit = MadeLot(self.bench.on, own, packed | {BULK})
        return tree_dates({UNIT: unit}, {**self.bench.dates, BULK: self._bulk_due})[UNIT]

    @cached_property
    def binding_lot(self) -> str:
        """The lot whose date is the limit, if one is."""
        dated = {
            self.bench.dates.get(lot.pk): f"lot {lot} of {lot.item}"
            for known in self.known.values()
            for lot, _ in known.parts
        }
        return dated.get(self.due, "")

    def smallest_batch_g(self, scale: Scale) -> Decimal | None:
        """The smallest batch of which this scale can weigh every line within its tolerance."""
        shares = [(line.share, line.tolerance / 100) for line in self.trial.lines]
        return smallest_batch_g(shares, as_rule(scale), at_most_g=self.bench.largest_kettle_g)

    @cached_property
    def batches_in_stock(self) -> tuple[int, Item] | None:
        """For how many batches the stock is enough, and what runs out first."""
        found = []
        for line in self.trial.lines:
            lots = self.bench.supply.usable(line.item)
            if line.lot is not None:
                lots = [lot for lot in lots if lot.pk == line.lot]
            there = sum((Fraction(lot.on_hand) for lot in lots), Fraction())
            found.append((int(there / self.trial.grams(line)), line.item))
        return min(found, key=lambda one: one[0], default=None)

    # ---- Labels ----------------------------------------------------------------------------------

    @cached_property
    def basis(self) -> LabelInputs:
        return LabelInputs(
            composition=self.composition,
            allergens=self.allergens,
            use=self.use,
            made_on=self.bench.on,
            best_before=self.due,
            placed_on=self.bench.on,
        )

    @property
    def markets(self) -> list[str]:
        product = self.product
        workshop = self.bench.workshop
        if product is None:
            return [workshop.market] if workshop else []
        return markets_of(product, workshop_of(self.bench)) if workshop else []

    @property
    def product(self) -> Product | None:
        """The product that is looked at, with its fill as tried."""
        product = self.trial.product
        return self._tried(product) if product else None

    def _tried(self, product: Product) -> Product:
        """The product with another fill, where it is the one that is tried."""
        fill, chosen = self.trial.fill_g, self.trial.product
        if not chosen or product.pk != chosen.pk or fill in (None, product.fill_g):
            return product
        tried = copy(product)
        tried.fill_g = fill
        if tried.fill_ml and tried.density_g_per_ml:
            tried.fill_ml = volume_of(fill, tried.density_g_per_ml)
        return tried

    def wording(self, product: Product, market: str) -> Wording:
        """The words that its label would have. Raises ActionRefused where it can have none."""
        key = product.pk, market
        if key not in self._wordings:
            self._wordings[key] = self._worded(product, market)
        return self._wordings[key]

    def _worded(self, product: Product, market: str) -> Wording:
        tried = self._tried(product)
        try:
            return wording_of(
                tried,
                design_of(product),
                workshop_of(self.bench),
                market,
                self.basis,
                terms=self.bench.terms,
            )
        except RuleError as error:
            raise ActionRefused(str(error)) from error

    @cached_property
    def labels(self) -> list[LabelOutcome]:
        """Every approved label of what this bulk is packed as, held against it."""
        found = []
        bulk = self.trial.version.formula.item_id
        products = {one.pk: one for one in self.bench.products if one.bulk_id == bulk}
        for version in self.bench.labels:
            if version.product_id not in products:
                continue
            product = products[version.product_id]
            try:
                wording = self.wording(product, version.market)
            except ActionRefused as refused:
                found.append(LabelOutcome(version, (), refused.message))
                continue
            fill = Fraction(self._tried(product).fill_g)
            workshop = workshop_of(self.bench)
            basis = replace(self.basis, best_before=self._due(product))
            untrue = untrue_if_made(
                version, basis, wording, workshop, fill,
                self.bench.terms.phrases_of(version.approved_at),
            )  # fmt: skip
            found.append(LabelOutcome(version, untrue))
        return found
