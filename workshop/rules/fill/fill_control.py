"""Fill control: sampling, tare, average and single packs, by the US and the EU rule."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal
from fractions import Fraction

from workshop.rules.errors import RuleError
from workshop.rules.quantities.units import POUND_G, Exact, ceil_to, show_mass
from workshop.rules.quantities.variance_and_limits import mean_and_variance, root

# Normal distribution, 99.5 % below: tables of the standard normal distribution.
Z_995 = Decimal("2.5758293036")
EU_SHARE_BELOW_T1 = Fraction(25, 1000)

# NIST Handbook 133, table 2-1, category A: sample size -> correction factor. From memory; each
# agrees with t(0.975; n-1) / sqrt(n) to 0.001.
CORRECTION = {
    2: "8.984", 3: "2.484", 4: "1.591", 5: "1.241", 6: "1.050", 7: "0.925", 8: "0.836",
    9: "0.769", 10: "0.715", 11: "0.672", 12: "0.635", 24: "0.422", 48: "0.291",
}  # fmt: skip
# NIST Handbook 133, table 2-5: label up to (lb) -> largest shortage allowed (g). The 113 g and
# 907 g rows were read in the handbook; the others are from memory.
MAV_BANDS = tuple(
    (Decimal(pounds), Decimal(grams))
    for pounds, grams in (
        row.split()
        for row in (
            "0.12 3.6", "0.18 5.4", "0.26 7.2", "0.34 9.0", "0.46 10.8", "0.58 12.7", "0.70 14.5",
            "0.84 16.3", "0.94 18.1", "1.08 19.9", "1.26 21.7", "1.40 23.5", "1.54 25.4",
            "1.70 27.2", "1.88 29.0", "2.14 31.7", "2.48 35.3", "2.76 39.0", "3.20 42.6",
            "3.90 49.8", "4.70 54.4", "5.80 63.5", "6.80 68.0", "7.90 77.1", "9.40 86.1",
            "11.70 99.7",
        )
    )
)  # fmt: skip
TEN_PERCENT_UP_TO_LB = Decimal("0.08")
# Directive 76/211/EEC, Annex I, 2.4: nominal up to (g) -> per cent, or grams.
TNE_BANDS: tuple[tuple[int, Decimal | None, Decimal | None], ...] = (
    (50, Decimal(9), None),
    (100, None, Decimal("4.5")),
    (200, Decimal("4.5"), None),
    (300, None, Decimal(9)),
    (500, Decimal(3), None),
    (1000, None, Decimal(15)),
    (10_000, Decimal("1.5"), None),
)


@dataclass(frozen=True)
class SamplingPlan:
    """How many packs to test, the factor for their average, and how many may be far short."""

    sample_size: int
    correction: Decimal | None
    allowed_short: int


@dataclass(frozen=True)
class FillVerdict:
    """What a fill test found, in figures and in sentences; `problems` is empty when it passed."""

    mean_g: Fraction
    deviation_g: Decimal
    short_packs: int
    problems: tuple[str, ...]

    @property
    def passes(self) -> bool:
        return not self.problems


def sampling_plan_us(lot_size: int) -> SamplingPlan:
    """Return the US sampling plan for a lot of so many packs.

    Units: packs. Error: none.
    Source: NIST Handbook 133, table 2-1, category A (from memory; see `CORRECTION`).
    Raises: RuleError when there is no pack.

    >>> sampling_plan_us(250)
    SamplingPlan(sample_size=12, correction=Decimal('0.635'), allowed_short=0)
    """
    if lot_size < 1:
        raise RuleError("There must be at least one pack to test.")
    size = min(lot_size, 12) if lot_size <= 250 else 24 if lot_size <= 3200 else 48
    correction = CORRECTION.get(size)
    return SamplingPlan(size, Decimal(correction) if correction else None, int(size == 48))


def largest_shortage_us_g(label_g: Exact) -> Fraction:
    """Return the maximum allowable variation (MAV): how far short one pack may be.

    Units: g. Error: none.
    Source: NIST Handbook 133, table 2-5 (see `MAV_BANDS`); 10 % up to 0.08 lb.
    Raises: RuleError when the label is not above zero or beyond 11.7 lb.

    >>> largest_shortage_us_g(113), largest_shortage_us_g(30)
    (Fraction(36, 5), Fraction(3, 1))
    """
    pounds = Fraction(label_g) / POUND_G
    if pounds <= 0:
        raise RuleError("The labelled weight must be above zero.")
    if pounds <= TEN_PERCENT_UP_TO_LB:
        return Fraction(label_g) / 10
    for up_to, grams in MAV_BANDS:
        if pounds <= up_to:
            return Fraction(grams)
    raise RuleError("Packs of more than 11.7 lb (5307 g) are not covered by this fill test.")


def check_us(label_g: Exact, contents_g: Sequence[Exact], lot_size: int) -> FillVerdict:
    """Hold the net contents of sampled packs against the US rule.

    Units: g; `label_g` is the larger of the two weights on the label.
    Error: none in the verdict (squares are compared, no root is taken); the standard deviation
        is told to a microgram.
    Source: NIST Handbook 133 (2026), 2.3: average requirement with the sample error limit, and
        no more packs short by more than the MAV than the plan allows; category A.
    Raises: RuleError when the number of packs is not what the plan asks for.

    >>> check_us(30, [30, Decimal("29.9")], 2).passes
    True
    """
    plan = sampling_plan_us(lot_size)
    if len(contents_g) != plan.sample_size:
        raise RuleError(
            f"A lot of {lot_size} packs asks for {plan.sample_size} to be weighed, "
            f"and there are {len(contents_g)}."
        )
    label = Fraction(label_g)
    mean, variance = mean_and_variance(contents_g)
    mav = largest_shortage_us_g(label)
    short = sum(Fraction(net) < label - mav for net in contents_g)
    problems = []
    error = mean - label
    # A sample is only off by more than chance if its shortage reaches the sample error limit.
    if (
        plan.correction is not None
        and error < 0
        and error**2 >= variance * Fraction(plan.correction) ** 2
    ):
        problems.append(
            f"On average the packs are {_mg(-error)} short, which is more than chance explains."
        )
    if short > plan.allowed_short:
        problems.append(
            f"{_packs(short)} short by more than {_mg(mav)}, and {plan.allowed_short} may be."
        )
    return FillVerdict(mean, root(variance), short, tuple(problems))


def tolerable_shortage_eu_g(nominal_g: Exact) -> Decimal:
    """Return the tolerable negative error (TNE) of a nominal content.

    Units: g. Error: a percentage is rounded up to 0.1 g, as the rule asks.
    Source: Directive 76/211/EEC, Annex I, 2.4, read in the German Fertigpackungsverordnung, § 9.
    Raises: RuleError below 5 g or above 10 kg, which the rule does not cover.

    >>> tolerable_shortage_eu_g(125), tolerable_shortage_eu_g(60)
    (Decimal('5.7'), Decimal('4.5'))
    """
    if not 5 <= nominal_g <= 10_000:
        raise RuleError("The EU rule for average contents covers 5 g to 10 kg.")
    percent, grams = next((p, g) for up_to, p, g in TNE_BANDS if nominal_g <= up_to)
    if percent is None:
        return grams or Decimal(0)
    return ceil_to(Fraction(nominal_g) * Fraction(percent) / 100, Decimal("0.1"))


def limits_eu_g(nominal_g: Decimal) -> tuple[Decimal, Decimal]:
    """Return T1 (few packs may hold less) and T2 (none may): nominal less one and two TNE.

    The rounded TNE is doubled for T2, which some national texts do the other way round.

    >>> limits_eu_g(Decimal(30))
    (Decimal('27.3'), Decimal('24.6'))
    """
    shortage = tolerable_shortage_eu_g(nominal_g)
    return nominal_g - shortage, nominal_g - 2 * shortage


def check_eu(
    nominal_g: Decimal,
    contents_g: Sequence[Exact],
    *,
    share_below: Exact = EU_SHARE_BELOW_T1,
    limits: tuple[Decimal, Decimal] | None = None,
) -> FillVerdict:
    """Hold the net contents of a lot's packs against the three EU rules for packers.

    Units: g; `share_below` is the share of packs that may hold less than T1 (some countries ask
        for 2 %); `limits` are T1 and T2 where they follow from a volume.
    Error: none. Source: Directive 76/211/EEC, Annex I: mean not below nominal, not more than
        2.5 % below T1 (from memory), none below T2.
    Raises: RuleError without packs or outside 5 g to 10 kg.

    >>> check_eu(Decimal(30), [31, 30, Decimal("24.5")]).problems[-1]
    '1 pack holds less than 24.6\\u202fg (T2), and none may.'
    """
    t1, t2 = limits or limits_eu_g(nominal_g)
    mean, variance = mean_and_variance(contents_g)
    below_t1 = sum(Fraction(net) < Fraction(t1) for net in contents_g)
    below_t2 = sum(Fraction(net) < Fraction(t2) for net in contents_g)
    allowed = int(Fraction(share_below) * len(contents_g))
    problems = []
    if mean < Fraction(nominal_g):
        problems.append(f"On average the packs are {_mg(Fraction(nominal_g) - mean)} short.")
    if below_t1 > allowed:
        problems.append(f"{_hold(below_t1)} less than {show_mass(t1)} (T1), and {allowed} may.")
    if below_t2:
        problems.append(f"{_hold(below_t2)} less than {show_mass(t2)} (T2), and none may.")
    return FillVerdict(mean, root(variance), below_t1, tuple(problems))


def net_from_gross(gross_g: Sequence[Exact], tares_g: Sequence[Exact]) -> list[Fraction]:
    """Return net contents from gross weights and a sample of empty containers.

    Units: g. Error: as even as the containers are; see `tare_is_steady`.
    Source: NIST Handbook 133 (2026), 2.3: nominal gross weight with the average tare.
    Raises: RuleError when no empty container was weighed.

    >>> net_from_gross([Decimal("44.1")], [14, Decimal("14.2")])
    [Fraction(30, 1)]
    """
    tare, _ = mean_and_variance(tares_g)
    return [Fraction(gross) - tare for gross in gross_g]


def tare_is_steady(tares_g: Sequence[Exact], shortage_g: Exact) -> bool:
    """Say whether the average tare may stand for all: they differ by under a fifth of the shortage.

    Units: g; `shortage_g` is the MAV or TNE. Error: none. Source: common practice, no source.
    Raises: RuleError when no empty container was weighed.

    >>> tare_is_steady([14, Decimal("14.2")], 3), tare_is_steady([14, 15], 3)
    (True, False)
    """
    mean_and_variance(tares_g)
    return 5 * (Fraction(max(tares_g)) - Fraction(min(tares_g))) < Fraction(shortage_g)


def scale_will_do(label_g: Exact, division_g: Decimal) -> bool:
    """Say whether a scale is fine enough for this fill test.

    Units: g. Error: none. Source: NIST Handbook 133 (2026), 2.2: a division of at most MAV / 6.
    Raises: as `largest_shortage_us_g`.

    >>> scale_will_do(113, Decimal(1)), scale_will_do(113, Decimal(2))
    (True, False)
    """
    return 6 * Fraction(division_g) <= largest_shortage_us_g(label_g)


def pour_target_g(
    promised_g: Exact,
    shortage_g: Exact,
    deviation_g: Exact,
    *,
    sample_size: int,
    division_g: Decimal,
) -> Decimal:
    """Return what to set the pour to so that 99.5 % of lots and of packs conform.

    The greater of two: high enough that the average of a sample is above the promise, and high
    enough that a single pack is above promise less `shortage_g`, each 99.5 times in a hundred.

    Units: g; `deviation_g` is the standard deviation seen, `shortage_g` the MAV or TNE.
    Error: rounded up to `division_g`; right as far as the fills are normally distributed.
    Source: quantile of the normal distribution, tables; the use of it is common practice.
    Raises: RuleError when there is no sample or the deviation is below zero.

    >>> pour_target_g(30, 3, Decimal("0.4"), sample_size=12, division_g=Decimal("0.1"))
    Decimal('30.3')
    """
    if sample_size < 1 or deviation_g < 0:
        raise RuleError("The sample must hold packs, and the deviation cannot be below zero.")
    spread = Fraction(deviation_g) * Fraction(Z_995)
    for_average = Fraction(promised_g) + spread / Fraction(root(Fraction(sample_size), ROUND_FLOOR))
    for_packs = Fraction(promised_g) - Fraction(shortage_g) + spread
    return ceil_to(max(for_average, for_packs), division_g)


def _mg(grams: Exact) -> str:
    return show_mass(ceil_to(grams, Decimal("0.001")))


def _packs(count: int) -> str:
    return f"{count} pack is" if count == 1 else f"{count} packs are"


def _hold(count: int) -> str:
    return f"{count} pack holds" if count == 1 else f"{count} packs hold"
