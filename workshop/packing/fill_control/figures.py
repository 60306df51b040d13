"""Fill control of a run: what was weighed, what both published systems say, what to pour to."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cached_property

from workshop.core.markets import (
    Market,
)
from workshop.core.models import (
    Workshop,
)
from workshop.kettle.models import Scale
from workshop.ledger.models import Posting, Side
from workshop.packing.fill_control.control_limits import drifts
from workshop.packing.fill_control.published_systems import (
    System,
    Volume,
    eu_system,
    shown_g,
    us_system,
)
from workshop.packing.models import FillSample, PackingRun, Product, Reading
from workshop.packing.promises import promise_us
from workshop.rules.errors import RuleError
from workshop.rules.fill.fill_control import (
    SamplingPlan,
    largest_shortage_us_g,
    net_from_gross,
    sampling_plan_us,
    scale_will_do,
    tare_is_steady,
)
from workshop.rules.labels.net_contents import NetContents
from workshop.rules.markets.laws import law_of
from workshop.rules.quantities.units import show_mass
from workshop.rules.quantities.variance_and_limits import control_limits_g, mean_and_variance, root

USUAL_DIVISION_G = Decimal("0.1")
# Common practice, no source: a lone empty container says nothing of how they differ.
LEAST_EMPTY = 2


@dataclass(frozen=True)
class FillCheck:
    """The fill of one run, from its weights that stand; `lot_size` is None while nobody knows."""

    product: Product
    lot_size: int | None
    samples: Sequence[FillSample]
    market: str = Market.US

    @cached_property
    def empties_g(self) -> list[Decimal]:
        return [one.grams for one in self.samples if one.kind == Reading.EMPTY]

    @cached_property
    def tare_g(self) -> Fraction | None:
        return mean_and_variance(self.empties_g)[0] if self.empties_g else None

    @cached_property
    def packs(self) -> list[tuple[FillSample, Fraction]]:
        """The packs whose contents are known, in pouring order, with those contents in grams."""
        known = []
        for one in self.samples:
            if one.kind == Reading.NET:
                known.append((one, Fraction(one.grams)))
            elif one.kind == Reading.FULL and self.empties_g:
                known.append((one, net_from_gross([one.grams], self.empties_g)[0]))
        return known

    @cached_property
    def contents_g(self) -> list[Fraction]:
        return [grams for _, grams in self.packs]

    @cached_property
    def full(self) -> list[FillSample]:
        return [one for one in self.samples if one.kind == Reading.FULL]

    @cached_property
    def lacks_tare(self) -> bool:
        return bool(self.full) and len(self.empties_g) < LEAST_EMPTY

    @cached_property
    def plan(self) -> SamplingPlan | None:
        return sampling_plan_us(self.lot_size) if self.lot_size else None

    @property
    def to_weigh(self) -> int:
        """How many more packs the plan asks for."""
        return max(0, self.plan.sample_size - len(self.contents_g)) if self.plan else 0

    @property
    def is_complete(self) -> bool:
        return self.plan is not None and self.to_weigh == 0 and not self.lacks_tare

    @cached_property
    def label(self) -> NetContents | None:
        try:
            return promise_us(self.product)
        except RuleError:
            return None

    @cached_property
    def mean_g(self) -> Fraction | None:
        return mean_and_variance(self.contents_g)[0] if self.contents_g else None

    @cached_property
    def deviation_g(self) -> Decimal | None:
        if len(self.contents_g) < 2:
            return None
        return root(mean_and_variance(self.contents_g)[1])

    @property
    def mean(self) -> str:
        return shown_g(self.mean_g)

    @property
    def deviation(self) -> str:
        return shown_g(self.deviation_g)

    @property
    def tare(self) -> str:
        return shown_g(self.tare_g)

    @cached_property
    def limits_g(self) -> tuple[Fraction, Fraction, Fraction] | None:
        return control_limits_g(self.contents_g) if len(self.contents_g) > 1 else None

    @cached_property
    def drifting(self) -> list[int]:
        """Which packs, counted from nought, lie where chance alone would hardly put them."""
        return drifts(self.contents_g)

    @cached_property
    def scales(self) -> list[Scale]:
        return list({one.scale: None for one in self.samples if one.scale})

    @property
    def division_g(self) -> Decimal:
        return max((scale.division_g for scale in self.scales), default=USUAL_DIVISION_G)

    @cached_property
    def us(self) -> System:
        known = (self.label, self.plan, self.lot_size, self.contents_g, self.division_g)
        return us_system(*known, volume=self.volume)

    @cached_property
    def eu(self) -> System:
        known = (self.label, self.plan, self.lot_size, self.contents_g, self.division_g)
        return eu_system(*known, volume=self.volume)

    @property
    def volume(self) -> Volume | None:
        """The nominal volume and the density of a product that is sold by volume."""
        fill_ml, density = self.product.fill_ml, self.product.density_g_per_ml
        return Volume(fill_ml, density) if fill_ml and density else None

    @property
    def supports_e_mark(self) -> bool:
        """Whether the fill was weighed by the plan and bears the e mark out.

        The mark says that the packer checked the fill by Directive 76/211/EEC, from 5 g to 10 kg.
        """
        return self.is_complete and self.eu.passes

    @property
    def systems(self) -> list[System]:
        """The one that binds the workshop's market first."""
        is_average = law_of(self.market).fill_system == "average"
        return [self.eu, self.us] if is_average else [self.us, self.eu]

    @property
    def binding(self) -> System:
        return self.systems[0]

    @property
    def concerns(self) -> list[str]:
        """Why the lot should not simply be released, each in a sentence."""
        too_few = self._too_few()
        return [too_few, *self.concerns_so_far] if too_few else self.concerns_so_far

    @property
    def concerns_so_far(self) -> list[str]:
        """What is to be said while packs are still being weighed."""
        said = [self._no_tare(), self._uneven_tare()]
        said += [self._coarse(scale) for scale in self.scales]
        if self.is_complete:
            said += self.binding.problems
        return [sentence for sentence in [*said, self._drift()] if sentence]

    def _too_few(self) -> str:
        if self.plan is None or not self.to_weigh or not self.binding.covers:
            return ""
        return (
            f"{len(self.contents_g)} of the {self.plan.sample_size} packs that the sampling plan "
            f"asks for are weighed."
        )

    def _no_tare(self) -> str:
        if not self.lacks_tare:
            return ""
        return (
            f"Full packs were weighed with {len(self.empties_g)} empty ones: weigh at least "
            f"{LEAST_EMPTY} empty, so that the contents are known."
        )

    def _uneven_tare(self) -> str:
        shortage_g = self.binding.shortage_g
        if not self.full or self.lacks_tare or shortage_g is None:
            return ""
        if tare_is_steady(self.empties_g, shortage_g):
            return ""
        apart = show_mass(max(self.empties_g) - min(self.empties_g))
        return (
            f"The empty containers differ by {apart}, a fifth or more of what one pack may be "
            "short: weigh the contents alone, on a tared scale."
        )

    def _coarse(self, scale: Scale) -> str:
        if self.label is None or not self.us.covers:
            return ""
        if scale_will_do(self.label.tested_g, scale.division_g):
            return ""
        finest = show_mass(largest_shortage_us_g(self.label.tested_g) / 6)
        return (
            f"{scale} shows {show_mass(scale.division_g)} at a time, and this test needs a scale "
            f"that shows {finest} or less."
        )

    def _drift(self) -> str:
        if not self.drifting:
            return ""
        places = ", ".join(str(place + 1) for place in self.drifting)
        word = "pack" if len(self.drifting) == 1 else "packs"
        return f"The pour was out of control at {word} {places}: see the chart."


def check_of(run: PackingRun) -> FillCheck:
    """The fill of a run; its size is what was packed or, until then, what was planned."""
    return checks_of([run])[run.pk]


def checks_of(runs: Collection[PackingRun]) -> dict[int, FillCheck]:
    """The same of many runs, by their key; the number of queries stays the same."""
    samples: dict[int, list[FillSample]] = {}
    weighed = FillSample.objects.effective().filter(run__in=runs)
    for sample in weighed.select_related("scale", "by", "corrects"):
        samples.setdefault(sample.run_id, []).append(sample)
    packed = Posting.objects.effective().filter(
        side=Side.OUT, operation__in=[run.operation_id for run in runs]
    )
    out = {one.operation_id: int(one.moved) for one in packed.order_by("-pk")}
    workshop = Workshop.objects.first()
    return {
        run.pk: FillCheck(
            product=run.product,
            lot_size=out.get(run.operation_id, run.planned_units),
            samples=samples.get(run.pk, []),
            market=workshop.market if workshop else Market.US,
        )
        for run in runs
    }


def supports_e_mark(run: PackingRun) -> bool:
    """Whether the fill of a run bears the e mark out."""
    return check_of(run).supports_e_mark
