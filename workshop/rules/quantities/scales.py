"""What a scale can tell: the weight to aim for, how far off it may be, and what is too little."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from fractions import Fraction
from math import ceil
from typing import Literal

from workshop.rules.errors import RuleError
from workshop.rules.quantities.units import Exact, ceil_to, round_to, show_mass
from workshop.rules.quantities.variance_and_limits import root

AccuracyClass = Literal["I", "II", "III", "IIII"]
Standard = Literal["OIML", "HB44"]
Occasion = Literal["in service", "initial"]
Verdict = Literal["fine", "too small", "outside tolerance", "over capacity"]

# Load up to this many e -> permissible error in e when new. OIML R 76-1:2006, table 6, from
# memory (classes II and III checked against NIST Handbook 133, table 2-2).
OIML_BANDS: dict[AccuracyClass, tuple[int, int]] = {
    "I": (50_000, 200_000),
    "II": (5_000, 20_000),
    "III": (500, 2_000),
    "IIII": (50, 200),
}
OIML_ERRORS = (Fraction(1, 2), Fraction(1), Fraction(3, 2))
# NIST Handbook 44, section 2.20, table 6: class III goes on to 2.5 above 4000 divisions.
HB44_CLASS_III = ((500, Fraction(1, 2)), (2_000, Fraction(1)), (4_000, Fraction(3, 2)))
HB44_CLASS_III_REST = Fraction(5, 2)
# Divisions that a class allows, least and most, for fine and for coarse e (NIST Handbook 133,
# table 2-1; Handbook 44, table 3). None: no upper end.
DIVISIONS: dict[AccuracyClass, tuple[Decimal, int, int, int | None]] = {
    "I": (Decimal(0), 50_000, 50_000, None),
    "II": (Decimal("0.05"), 100, 5_000, 100_000),
    "III": (Decimal(2), 100, 500, 10_000),
    "IIII": (Decimal(0), 100, 100, 1_200),
}
LEAST_REPEATABILITY = Decimal("0.41")
ONE_IN_THOUSAND = Fraction(1, 1000)


@dataclass(frozen=True)
class ScaleLimits:
    """A scale: `division_g` is the step it shows, `verification_g` the step it is judged by."""

    name: str
    division_g: Decimal
    verification_g: Decimal
    accuracy_class: AccuracyClass
    capacity_g: Decimal


@dataclass(frozen=True)
class WeighCheck:
    """What weighing one line on one scale comes to, and in a sentence whether it will do."""

    target_g: Decimal
    rounding_error_g: Fraction
    permissible_error_g: Fraction
    standard_uncertainty_g: Decimal
    expanded_uncertainty_g: Decimal
    relative_error: Fraction
    verdict: Verdict
    sentence: str


def permissible_error_g(
    scale: ScaleLimits,
    load_g: Exact,
    *,
    occasion: Occasion = "in service",
    standard: Standard = "OIML",
) -> Fraction:
    """Return how far the scale may be off at this load and still be within the law.

    Units: g. Error: none.
    Source: OIML R 76-1:2006, table 6, and NIST Handbook 44, 2.20, table 6 (bands read in NIST
        Handbook 133, table 2-2); double in service, from memory.
    Raises: RuleError when the load is below zero.

    >>> bench = ScaleLimits("bench", Decimal("0.5"), Decimal("0.5"), "III", Decimal(6000))
    >>> permissible_error_g(bench, 250), permissible_error_g(bench, 251, occasion="initial")
    (Fraction(1, 2), Fraction(1, 2))
    """
    if load_g < 0:
        raise RuleError("A load on the scale cannot be below zero.")
    divisions = Fraction(load_g) / Fraction(scale.verification_g)
    bands, rest = _bands(scale.accuracy_class, standard)
    error = next((error for up_to, error in bands if divisions <= up_to), rest)
    return error * Fraction(scale.verification_g) * (2 if occasion == "in service" else 1)


def standard_uncertainty_g(scale: ScaleLimits, load_g: Exact) -> Decimal:
    """Return the standard uncertainty of one net weighing at this load, rounded up.

    Three parts, each taken as evenly spread: the reading and the zero, half a division either
    way, and the permissible error in service. Twice this covers about 95 % (k = 2).

    Units: g. Error: rounded up to 0.000 001 g.
    Source: JCGM 100:2008 (GUM), 4.3.7: half width / square root of 3, summed as squares.
    Raises: as `permissible_error_g`.

    >>> bench = ScaleLimits("bench", Decimal("0.5"), Decimal("0.5"), "III", Decimal(6000))
    >>> standard_uncertainty_g(bench, 100)
    Decimal('0.353554')
    """
    half = Fraction(scale.division_g) / 2
    variance = (2 * half**2 + permissible_error_g(scale, load_g) ** 2) / 3
    return root(variance, ROUND_CEILING)


def smallest_load_g(scale: ScaleLimits) -> Decimal:
    """Return the smallest load worth weighing on this scale.

    Units: g. Error: none.
    Source: OIML R 76-1:2006, table 3: 100 e in class I, 20 e in II (50 e from 0.1 g), 20 e in
        III, 10 e in IIII, from memory; NIST Handbook 44, 2.20, table 8 agrees for II to IIII.
    Raises: nothing.

    >>> smallest_load_g(ScaleLimits("bench", Decimal("0.5"), Decimal("0.5"), "III", Decimal(6000)))
    Decimal('10.0')
    """
    times = {"I": 100, "II": 20, "III": 20, "IIII": 10}[scale.accuracy_class]
    if scale.accuracy_class == "II" and scale.verification_g >= Decimal("0.1"):
        times = 50
    return times * scale.verification_g


def smallest_load_for_share_g(
    scale: ScaleLimits, share: Exact = ONE_IN_THOUSAND, *, repeatability_g: Decimal = Decimal(0)
) -> Decimal:
    """Return the smallest load that repeats to within `share`, by the rule of the drug assay.

    Units: g; `repeatability_g` is the standard deviation of ten weighings, taken as 0.41
        divisions when less. Error: rounded up to a milligram.
    Source: USP <41>: 2 s / smallest net weight at most 0.10 %; 0.41 d second-hand.
    Raises: RuleError when the share is not above zero.

    >>> fine = ScaleLimits("fine", Decimal("0.01"), Decimal("0.01"), "II", Decimal(600))
    >>> smallest_load_for_share_g(fine)
    Decimal('8.200')
    """
    if share <= 0:
        raise RuleError("The share wanted must be above zero.")
    deviation = max(repeatability_g, LEAST_REPEATABILITY * scale.division_g)
    return ceil_to(2 * Fraction(deviation) / Fraction(share), Decimal("0.001"))


def weigh_check(
    scale: ScaleLimits, wanted_g: Exact, tolerance: Exact, *, tare_g: Decimal = Decimal(0)
) -> WeighCheck:
    """Return what weighing `wanted_g` on `scale` comes to, held against the line's tolerance.

    The relative error is the worst case: rounding to the division, and the scale as far off as
    it may be in service, over the weight wanted.

    Units: g; `tolerance` is a fraction of the weight wanted (0.02 for 2 %); `tare_g` is the
        vessel on the scale, which only the capacity feels.
    Error: as told in the result. Source: as `permissible_error_g`, `smallest_load_g`.
    Raises: RuleError when the weight wanted is not above zero.

    >>> bench = ScaleLimits("bench", Decimal("0.5"), Decimal("0.5"), "III", Decimal(6000))
    >>> check = weigh_check(bench, Decimal("3.6"), Decimal("0.05"))
    >>> check.target_g, check.verdict, check.relative_error
    (Decimal('3.5'), 'too small', Fraction(1, 6))
    """
    if wanted_g <= 0:
        raise RuleError("The weight wanted must be above zero.")
    target = round_to(wanted_g, scale.division_g)
    rounding = Fraction(target) - Fraction(wanted_g)
    permissible = permissible_error_g(scale, wanted_g)
    relative = (abs(rounding) + permissible) / Fraction(wanted_g)
    verdict = _verdict(scale, target, tare_g, relative, Fraction(tolerance))
    uncertainty = standard_uncertainty_g(scale, wanted_g)
    return WeighCheck(
        target,
        rounding,
        permissible,
        uncertainty,
        2 * uncertainty,
        relative,
        verdict,
        _sentence(scale, Fraction(wanted_g), relative, Fraction(tolerance), verdict),
    )


def choose_scale(
    scales: Iterable[ScaleLimits],
    wanted_g: Exact,
    tolerance: Exact,
    *,
    tare_g: Decimal = Decimal(0),
) -> tuple[ScaleLimits, WeighCheck]:
    """Return the scale to weigh this line on: one that will do if any does, with least error.

    Units, error, source: as `weigh_check`. Raises: RuleError when there is no scale.

    >>> bench = ScaleLimits("bench", Decimal("0.5"), Decimal("0.5"), "III", Decimal(6000))
    >>> fine = ScaleLimits("fine", Decimal("0.01"), Decimal("0.01"), "II", Decimal(600))
    >>> [choose_scale([bench, fine], g, Decimal("0.05"))[0].name for g in (36, 3600)]
    ['fine', 'bench']
    """
    checks = [(scale, weigh_check(scale, wanted_g, tolerance, tare_g=tare_g)) for scale in scales]
    if not checks:
        raise RuleError("There is no scale to choose from. Enter the workshop's scales first.")
    return min(checks, key=lambda c: (c[1].verdict == "over capacity", c[1].verdict != "fine",
                                      c[1].relative_error))  # fmt: skip


def smallest_batch_g(
    lines: Sequence[tuple[Exact, Exact]], scale: ScaleLimits, *, at_most_g: Decimal | None = None
) -> Decimal | None:
    """Return the smallest batch of which every line can be weighed within its tolerance.

    Whatever the rounding turns out to be: half a division is allowed for. None when no batch up
    to the scale's capacity (or `at_most_g`) will do.

    Units: `lines` are pairs of share in per cent and tolerance as a fraction; g.
    Error: rounded up to the scale's division.
    Source: as `weigh_check`. Raises: RuleError when a share is not above zero.

    >>> bench = ScaleLimits("bench", Decimal("0.5"), Decimal("0.5"), "III", Decimal(6000))
    >>> smallest_batch_g([(92, Decimal("0.05")), (8, Decimal("0.05"))], bench)
    Decimal('187.5')
    """
    if any(share <= 0 for share, _ in lines):
        raise RuleError("Each line of the formula must have a share above zero.")
    loads = {tolerance: _loads_within(scale, Fraction(tolerance)) for _, tolerance in lines}
    d_g = Fraction(scale.division_g)
    # By line: what a batch of one division comes to, and the loads that will do.
    wanted = [(Fraction(share) * d_g / 100, loads[tolerance]) for share, tolerance in lines]
    # The smallest batch is where some line just comes within tolerance, in one of its bands; below
    # the first of them a line never is. Batches are counted in divisions.
    by_line = [{ceil(first / share) for first, _ in within} for share, within in wanted]
    least = max((min(starts, default=0) for starts in by_line), default=0)
    starts = {batch for line in by_line for batch in line if batch >= least}
    most = scale.capacity_g if at_most_g is None else at_most_g
    fitting = (
        batch
        for batch in sorted(starts)
        if batch * d_g <= Fraction(most)
        and all(_is_among(batch * share, within) for share, within in wanted)
    )
    found = next(fitting, None)
    return None if found is None else found * scale.division_g


def scale_problems(scale: ScaleLimits) -> list[str]:
    """Return what does not fit together in the figures given for a scale, as sentences.

    Units: none. Error: none.
    Source: NIST Handbook 133 (2026), table 2-1; Handbook 44, 2.20, table 3.
    Raises: nothing.

    >>> scale_problems(ScaleLimits("bench", Decimal("0.5"), Decimal("0.5"), "III", Decimal(6000)))
    ['A class III scale has 100 to 10000 divisions, and 6000 g in steps of 0.5 g are 12000.']
    """
    steps = (scale.division_g, scale.verification_g, scale.capacity_g)
    if min(steps) <= 0:
        return ["The division, the verification interval and the capacity must be above zero."]
    problems = []
    if scale.verification_g < scale.division_g:
        problems.append("The verification interval e cannot be finer than the division d.")
    fine_up_to, least_fine, least_coarse, most = DIVISIONS[scale.accuracy_class]
    least = least_fine if scale.verification_g <= fine_up_to else least_coarse
    count = Fraction(scale.capacity_g) / Fraction(scale.verification_g)
    if count < least or (most is not None and count > most):
        allowed = f"{least} to {most}" if most else f"{least} or more"
        problems.append(
            f"A class {scale.accuracy_class} scale has {allowed} divisions, and "
            f"{scale.capacity_g.normalize():f} g in steps of "
            f"{scale.verification_g.normalize():f} g are {int(count)}."
        )
    return problems


def _bands(
    accuracy_class: AccuracyClass, standard: Standard
) -> tuple[tuple[tuple[int, Fraction], ...], Fraction]:
    """Return the error bands of a class: up to so many e, and the error of all above."""
    if standard == "HB44" and accuracy_class == "III":
        return HB44_CLASS_III, HB44_CLASS_III_REST
    return tuple(zip(OIML_BANDS[accuracy_class], OIML_ERRORS, strict=False)), OIML_ERRORS[-1]


def _verdict(
    scale: ScaleLimits, target_g: Decimal, tare_g: Decimal, relative: Fraction, tolerance: Fraction
) -> Verdict:
    if target_g + tare_g > scale.capacity_g:
        return "over capacity"
    if target_g < smallest_load_g(scale):
        return "too small"
    return "fine" if relative <= tolerance else "outside tolerance"


def _sentence(
    scale: ScaleLimits,
    wanted_g: Fraction,
    relative: Fraction,
    tolerance: Fraction,
    verdict: Verdict,
) -> str:
    weight = show_mass(wanted_g)
    off = f"up to {_percent(relative)} % off"
    if verdict == "over capacity":
        return f"{weight} and the vessel are more than {scale.name} can carry."
    if verdict == "too small":
        least = show_mass(smallest_load_g(scale), scale.division_g)
        return f"{weight} is too little for {scale.name} (from {least}) and may be {off}."
    if verdict == "outside tolerance":
        allowed = f"and the line allows {_percent(tolerance)} %"
        return f"{weight} on {scale.name} may be {off}, {allowed}."
    return f"{weight} on {scale.name} is {off} at worst, within {_percent(tolerance)} %."


def _percent(share: Fraction) -> str:
    return f"{ceil_to(share * 100, Decimal('0.1')).normalize():f}"


def _loads_within(scale: ScaleLimits, tolerance: Fraction) -> list[tuple[Fraction, Fraction]]:
    """Return, for each error band, the first and the last load weighed within the tolerance."""
    if tolerance <= 0:
        return []
    half = Fraction(scale.division_g) / 2
    e_g = Fraction(scale.verification_g)
    least = Fraction(smallest_load_g(scale)) + half
    most = Fraction(scale.capacity_g) - half
    bands, rest = _bands(scale.accuracy_class, "OIML")
    ends = [(min(most, up_to * e_g), error) for up_to, error in bands]
    # A band's first load may lie in a later one, where the error is larger: none of it will do.
    return [
        (max(least, (half + 2 * error * e_g) / tolerance), last)
        for last, error in (*ends, (most, rest))
    ]


def _is_among(load_g: Fraction, within: Sequence[tuple[Fraction, Fraction]]) -> bool:
    return any(first <= load_g <= last for first, last in within)
