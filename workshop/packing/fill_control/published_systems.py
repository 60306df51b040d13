"""The two published systems of fill control, each held against what was weighed."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from workshop.rules.errors import RuleError
from workshop.rules.fill.eu_reference_test import reference_test_eu
from workshop.rules.fill.fill_control import (
    FillVerdict,
    SamplingPlan,
    check_eu,
    check_us,
    largest_shortage_us_g,
    limits_eu_g,
    pour_target_g,
)
from workshop.rules.labels.net_contents import NetContents
from workshop.rules.labels.net_volume import weight_of
from workshop.rules.quantities.units import Exact, round_to, show_mass
from workshop.rules.quantities.variance_and_limits import mean_and_variance, root

US_NAME = "NIST Handbook 133, category A (US)"
# Table 2-6, shortages by volume, was not at hand, so no figure of it stands here.
BY_VOLUME = (
    "The shortage that one pack may have is that of its weight (table 2-5). For packs sold by "
    "volume the handbook has a table of its own (2-6): ask your authority for it."
)
EU_NAME = "Directive 76/211/EEC (EU and UK)"


def shown_g(grams: Exact | None) -> str:
    """Grams to two decimals, for reading; judged is what is exact.

    >>> shown_g(Fraction(181, 3))
    '60.33\\u202fg'
    """
    return "" if grams is None else show_mass(round_to(grams, Decimal("0.01")))


@dataclass(frozen=True)
class System:
    """One system's limits for a product and, once enough is weighed, its verdict."""

    name: str
    not_covered: str = ""
    promised_g: Fraction | None = None
    shortage_g: Fraction | None = None
    average_limit_g: Fraction | None = None
    may_be_short: str = ""
    picked: str = ""
    inspector: str = ""
    note: str = ""
    verdict: FillVerdict | None = None
    target_g: Decimal | None = None
    more: tuple[str, ...] = field(default=())

    @property
    def promised(self) -> str:
        return shown_g(self.promised_g)

    @property
    def average_limit(self) -> str:
        return shown_g(self.average_limit_g)

    @property
    def covers(self) -> bool:
        return not self.not_covered

    @property
    def problems(self) -> list[str]:
        return [*(self.verdict.problems if self.verdict else ()), *self.more]

    @property
    def passes(self) -> bool:
        return self.verdict is not None and not self.problems

    @property
    def state(self) -> str:
        """The key of its status word."""
        if self.verdict is None:
            return "open"
        return "approved" if self.passes else "rejected"

    @property
    def word(self) -> str:
        if self.not_covered:
            return "not covered"
        if self.verdict is None:
            return "too few weighed yet"
        return "passes" if self.passes else "fails"


@dataclass(frozen=True)
class Volume:
    """What a pack holds by volume, and its density, by which the scale tells it."""

    ml: Decimal
    density_g_per_ml: Decimal

    @property
    def limits_g(self) -> tuple[Decimal, Decimal, Decimal]:
        """Nominal content, T1 and T2 of the volume as weights, in milligrams rounded up."""
        stated = (self.ml, *limits_eu_g(self.ml))
        nominal, t1, t2 = (weight_of(ml, self.density_g_per_ml) for ml in stated)
        return nominal, t1, t2


def us_system(
    label: NetContents | None,
    plan: SamplingPlan | None,
    lot_size: int | None,
    contents_g: Sequence[Fraction],
    division_g: Decimal,
    *,
    volume: Volume | None = None,
) -> System:
    """Average and single packs by the US rule.

    More packs than the plan asks for may be weighed: as many as it asks for, spread evenly over
    the run, give the average, and every pack weighed is held against the largest shortage.
    """
    if label is None:
        return System(US_NAME, "The fill is too small for a net weight statement.")
    promised = label.tested_g
    try:
        mav = largest_shortage_us_g(promised)
    except RuleError as error:
        return System(US_NAME, str(error))
    if plan is None or lot_size is None:
        return System(US_NAME, promised_g=promised, shortage_g=mav)
    enough = len(contents_g) >= plan.sample_size
    picked = evenly(contents_g, plan.sample_size) if enough else []
    allowed = plan.allowed_short
    return System(
        US_NAME,
        promised_g=promised,
        shortage_g=mav,
        average_limit_g=_us_limit(promised, plan, picked),
        may_be_short=f"{_packs(allowed)} short by more than {show_mass(mav)} (MAV)",
        picked=_picked(picked, len(contents_g)),
        note=BY_VOLUME if volume else "",
        verdict=check_us(promised, picked, lot_size) if enough else None,
        target_g=_target(promised, mav, plan, contents_g, division_g),
        more=_short_besides(contents_g, picked, promised - mav, allowed) if enough else (),
    )


def evenly(values: Sequence[Fraction], count: int) -> list[Fraction]:
    """So many of them, spread evenly over the whole; nobody can choose which.

    >>> [int(one) for one in evenly([Fraction(n) for n in range(10)], 4)]
    [0, 2, 5, 7]
    """
    return [values[place * len(values) // count] for place in range(count)]


def _picked(picked: Sequence[Fraction], weighed: int) -> str:
    """Whose average is judged, where it is not that of all."""
    if not picked or len(picked) == weighed:
        return ""
    mean = shown_g(mean_and_variance(picked)[0])
    return f"{mean}, of {len(picked)} of the {weighed} packs weighed, spread evenly"


def _us_limit(promised: Fraction, plan: SamplingPlan, picked: Sequence[Fraction]) -> Fraction:
    """What the average must be above: the promise less the sample error limit."""
    if plan.correction is None or len(picked) < 2:
        return promised
    deviation = root(mean_and_variance(picked)[1])
    return promised - Fraction(plan.correction) * Fraction(deviation)


def _short_besides(
    contents_g: Sequence[Fraction], picked: Sequence[Fraction], least: Fraction, allowed: int
) -> tuple[str, ...]:
    """Packs weighed beyond the plan count against the largest shortage too."""
    short = sum(grams < least for grams in contents_g)
    seen = sum(grams < least for grams in picked)
    if short <= max(allowed, seen):
        return ()
    return (f"Of all packs weighed, {short} hold less than {show_mass(least)}.",)


def eu_system(
    label: NetContents | None,
    plan: SamplingPlan | None,
    lot_size: int | None,
    contents_g: Sequence[Fraction],
    division_g: Decimal,
    *,
    volume: Volume | None = None,
) -> System:
    """The three rules for packers, on all packs weighed, as many at least as the plan asks for.

    The directive leaves the packer's own sampling to the packer; an inspector's reference test
    takes more. Holding the sample itself to all three rules is on the safe side.
    """
    if label is None:
        return System(EU_NAME, "The fill is too small for a net weight statement.")
    nominal = label.grams
    try:
        if volume:
            nominal, t1, t2 = volume.limits_g
        else:
            t1, t2 = limits_eu_g(nominal)
    except RuleError as error:
        return System(EU_NAME, str(error))
    shortage = Fraction(nominal - t1)
    enough = plan is not None and len(contents_g) >= plan.sample_size
    return System(
        EU_NAME,
        promised_g=Fraction(nominal),
        shortage_g=shortage,
        average_limit_g=Fraction(nominal),
        may_be_short=(
            f"2.5 % of packs below {show_mass(t1)} (T1, one TNE short), none below "
            f"{show_mass(t2)} (T2)"
        ),
        inspector=_reference(lot_size),
        verdict=check_eu(nominal, contents_g, limits=(t1, t2)) if enough else None,
        target_g=_target(Fraction(nominal), shortage, plan, contents_g, division_g),
    )


def _reference(lot_size: int | None) -> str:
    """What an inspector would weigh of such a lot, in words."""
    try:
        test = reference_test_eu(lot_size or 0)
    except RuleError:
        return ""
    if test.factor is None:
        return f"all {test.sample_size} packs of so small a lot, whose average must reach it"
    return (
        f"{test.sample_size} packs, of which {test.allowed_short} may be below T1; the average of "
        f"{test.average_of} must reach it less {test.factor} s"
    )


def _target(
    promised: Fraction,
    shortage: Fraction,
    plan: SamplingPlan | None,
    contents_g: Sequence[Fraction],
    division_g: Decimal,
) -> Decimal | None:
    if plan is None or len(contents_g) < 2:
        return None
    return pour_target_g(
        promised,
        shortage,
        root(mean_and_variance(contents_g)[1]),
        sample_size=plan.sample_size,
        division_g=division_g,
    )


def _packs(count: int) -> str:
    return "no pack" if count == 0 else f"{count} pack" if count == 1 else f"{count} packs"
