"""What complaints share: Fisher's tea, the 1995 correction, and SciPy as a second opinion."""

import math
from collections import Counter
from decimal import Decimal
from fractions import Fraction
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from workshop.rules.aftersales.commonality import (
    Z_975,
    chance_of,
    commonality,
    corrected_chances,
    odds_ratio,
    thin_data,
)
from workshop.rules.errors import RuleError


@pytest.mark.parametrize(
    ("right", "chance"),
    [(4, Fraction(1, 70)), (3, Fraction(17, 70)), (2, Fraction(53, 70)), (0, 1)],
)
def test_chance_matches_fishers_tea_tasting(right: int, chance: Fraction) -> None:
    # R. A. Fisher, The Design of Experiments (1935): 8 cups, 4 with milk first.
    assert chance_of(right, 4, 4, 8) == chance


def test_chance_matches_fishers_twins() -> None:
    # R. A. Fisher, "The logic of inductive inference" (1935), on Lange's twins of convicts: 10 of
    # 13 identical twins had been convicted too, and 2 of 17 others; chance 619 in 1 330 665.
    assert chance_of(10, 13, 12, 30) == Fraction(619, 1_330_665)
    assert round(float(chance_of(10, 13, 12, 30)), 7) == 0.0004652  # as R's fisher.test prints it


# Exposed and ill, ill, exposed, asked: outbreaks that were looked into by who ate what.
OSWEGO_ICE_CREAM = (43, 46, 54, 75)
WEDDING = {
    "wedding cake": (50, 54, 53, 79),
    "fresh fruit": (36, 54, 43, 79),
    "arugula salad": (34, 54, 41, 79),
    "focaccia": (15, 54, 16, 79),
    "hearth bread": (23, 54, 27, 79),
}
GROCERY = (25, 27, 53, 81)


def test_vanilla_ice_cream_of_the_church_supper_stands_out() -> None:
    # CDC, Case Studies in Applied Epidemiology 401-303 (Oswego, 1940): of 75 asked 46 fell ill;
    # vanilla ice cream, 43 of 54 who ate it (79.6 %) and 3 of 21 who did not (14.3 %).
    with_it, ill, ate, asked = OSWEGO_ICE_CREAM

    assert round(100 * with_it / ate, 1) == 79.6
    assert round(100 * (ill - with_it) / (asked - ate), 1) == 14.3
    assert chance_of(*OSWEGO_ICE_CREAM) < Fraction(1, 1_000_000)


def test_wedding_cake_comes_first_of_the_published_foods() -> None:
    # Emerging Infectious Diseases 8(8), 2002, table 2 (cyclosporiasis after a wedding): cake was
    # the only food that stayed significant when all were looked at together.
    chances = {food: chance_of(*counts) for food, counts in WEDDING.items()}
    corrected = dict(zip(chances, corrected_chances(list(chances.values())), strict=True))

    assert min(chances, key=lambda food: chances[food]) == "wedding cake"
    assert corrected["wedding cake"] < Fraction(1, 10**8)
    assert corrected["arugula salad"] > 1000 * corrected["wedding cake"]


def test_odds_ratio_of_the_grocery_store_lies_in_our_interval() -> None:
    # CDC, Principles of Epidemiology, lesson 6 (legionellosis, store A): 25 of 27 cases and 28 of
    # 54 controls had shopped there; odds ratio 25 × 26 / (28 × 2) = 11.6. With one half added to
    # each count it is 25.5 × 26.5 / (28.5 × 2.5) = 9.48.
    centre, least, most = odds_ratio(*GROCERY)

    assert centre == Decimal("9.48")
    assert least < Decimal("11.6") < most
    assert least > 2


@st.composite
def tables(draw: st.DrawFn) -> tuple[int, int, int, int]:
    batches = draw(st.integers(1, 300))
    complained = draw(st.integers(1, batches))
    used = draw(st.integers(1, batches))
    least = max(0, complained + used - batches)
    return draw(st.integers(least, min(complained, used))), complained, used, batches


@given(tables())
def test_chance_agrees_with_scipy(table: tuple[int, int, int, int]) -> None:
    k, complained, used, batches = table
    tail = stats.hypergeom.sf(k - 1, batches, used, complained)
    rest = [[k, complained - k], [used - k, batches - complained - used + k]]

    assert float(chance_of(*table)) == pytest.approx(tail, rel=1e-6, abs=1e-12)
    assert float(chance_of(*table)) == pytest.approx(
        stats.fisher_exact(rest, alternative="greater").pvalue, rel=1e-6, abs=1e-12
    )


@pytest.mark.parametrize("table", [(5, 4, 9, 20), (-1, 4, 9, 20), (1, 30, 9, 20), (0, 0, 0, 0)])
def test_counts_that_cannot_belong_together_are_refused(table: tuple[int, int, int, int]) -> None:
    with pytest.raises(RuleError, match="cannot belong together"):
        chance_of(*table)


# Benjamini and Hochberg (1995), the fifteen p values of their worked example: from memory, and the
# same in several public test suites that repeat it.
PUBLISHED = [
    "0.0001", "0.0004", "0.0019", "0.0095", "0.0201", "0.0278", "0.0298", "0.0344", "0.0459",
    "0.3240", "0.4262", "0.5719", "0.6528", "0.7590", "1.0000",
]  # fmt: skip


def test_correction_rejects_the_first_four_of_the_published_example() -> None:
    corrected = corrected_chances([Fraction(p) for p in PUBLISHED])

    assert [p <= Fraction(5, 100) for p in corrected] == [True] * 4 + [False] * 11
    assert corrected[3] == Fraction("0.0095") * 15 / 4


@pytest.mark.parametrize(
    ("chances", "corrected"),
    [
        # The documentation of stdlib (stdlib.io, stats/padjust, method "bh").
        (["0.319", "0.201", "0.4", "0.374", "0.113"], ["0.4"] * 5),
        (["0.008", "0.03", "0.123", "0.6", "0.2"], ["0.04", "0.075", "0.205", "0.6", "0.25"]),
    ],
)
def test_correction_gives_the_values_of_a_published_table(
    chances: list[str], corrected: list[str]
) -> None:
    assert corrected_chances(list(map(Fraction, chances))) == list(map(Fraction, corrected))


@given(st.lists(st.fractions(0, 1), min_size=1, max_size=40))
def test_correction_agrees_with_scipy(chances: list[Fraction]) -> None:
    wanted = stats.false_discovery_control([float(chance) for chance in chances])

    assert [float(p) for p in corrected_chances(chances)] == pytest.approx(list(wanted), abs=1e-12)


@given(tables())
def test_odds_ratio_is_the_one_of_the_formula(table: tuple[int, int, int, int]) -> None:
    k, complained, used, batches = table
    a, b, c = k + 0.5, complained - k + 0.5, used - k + 0.5
    d = batches - complained - used + k + 0.5
    middle, reach = math.log(a * d / b / c), float(Z_975) * math.sqrt(1 / a + 1 / b + 1 / c + 1 / d)
    wanted = [math.exp(middle), math.exp(middle - reach), math.exp(middle + reach)]

    assert [float(ratio) for ratio in odds_ratio(*table)] == pytest.approx(
        wanted, abs=0.0051, rel=1e-9
    )
    assert float(Z_975) == pytest.approx(stats.norm.ppf(0.975), abs=1e-9)


def window() -> dict[int, list[str]]:
    """240 batches: all use one of four oils; lot MINT-7 is in the first 18 and wax in all."""
    lots = {batch: [f"OIL-{batch % 4}", "WAX"] for batch in range(240)}
    for batch in range(18):
        lots[batch].append("MINT-7")
    return lots


def test_lot_that_the_complaints_share_comes_first() -> None:
    found = commonality(window(), [0, 3, 5, 6, 9, 12, 17, 100])

    assert found[0].lot == "MINT-7"
    assert found[0].stands_out
    assert found[0].sentence == (
        "7 of 8 batches with complaints used this lot; 11 of 232 other batches did."
    )
    assert [suspect.stands_out for suspect in found[1:]] == [False] * 3
    assert found[-1].lot == "WAX"
    assert found[-1].chance == 1


@pytest.mark.parametrize(
    ("complained", "shared"), [([1], []), ([1, 2], ["B"]), ([1, 2, 3], ["B", "C"])]
)
def test_lot_of_one_complained_batch_is_never_shared(
    complained: list[int], shared: list[str]
) -> None:
    found = commonality({1: ["A", "A", "B"], 2: ["B", "C"], 3: ["C"], 4: ["D"]}, complained)

    assert sorted(suspect.lot for suspect in found) == shared


def test_every_lot_of_the_window_counts_although_no_complaint_led_to_it() -> None:
    """2 of 2 with lot A, 0 of 8 without: 1 in C(10, 2) = 45, among the 9 lots there are."""
    lots_of = {1: ["A"], 2: ["A"], **{batch: [f"OTHER-{batch}"] for batch in range(3, 11)}}

    (found,) = commonality(lots_of, [1, 2])

    assert (found.chance, found.corrected) == (Fraction(1, 45), Fraction(9, 45))
    assert not found.stands_out


@given(st.dictionaries(st.integers(0, 30), st.sets(st.integers(0, 8)), min_size=1), st.data())
def test_suspects_are_in_order_of_their_chance(
    lots_of: dict[int, set[int]], data: st.DataObject
) -> None:
    complained = data.draw(st.sets(st.sampled_from(sorted(lots_of)), min_size=1))
    found = commonality(lots_of, complained)
    of_named = Counter(lot for batch in complained for lot in lots_of[batch])

    assert [s.chance for s in found] == sorted(s.chance for s in found)
    assert {s.lot for s in found} == {lot for lot, count in of_named.items() if count >= 2}
    assert all(s.chance <= s.corrected <= 1 for s in found)
    assert all(s.least_odds_ratio <= s.odds_ratio <= s.most_odds_ratio for s in found)


@given(st.dictionaries(st.integers(0, 30), st.sets(st.integers(0, 8)), min_size=1), st.data())
def test_correction_of_a_window_agrees_with_scipy(
    lots_of: dict[int, set[int]], data: st.DataObject
) -> None:
    complained = data.draw(st.sets(st.sampled_from(sorted(lots_of)), min_size=1))
    family = sorted(set().union(*lots_of.values()))
    with_lot = [{batch for batch, lots in lots_of.items() if lot in lots} for lot in family]
    tails = [
        stats.hypergeom.sf(len(b & complained) - 1, len(lots_of), len(b), len(complained))
        for b in with_lot
    ]
    wanted = dict(zip(family, stats.false_discovery_control(tails), strict=True)) if family else {}

    for suspect in commonality(lots_of, complained):
        assert float(suspect.corrected) == pytest.approx(wanted[suspect.lot], rel=1e-9)


def year_of_batches(draw: Random) -> dict[int, set[str]]:
    """A year of 250 batches: each of 6 to 10 of 30 materials, whose lots follow one another.

    Every fifth batch is made from an infusion, which brings along its herb and its oil.
    """
    lasts = [draw.randint(3, 40) for _ in range(30)]
    used, batches = [0] * 30, {}
    for batch in range(250):
        chosen = draw.sample(range(30), draw.randint(6, 10))
        for material in chosen:
            used[material] += 1
        lots = {f"{material}-{used[material] // lasts[material]}" for material in chosen}
        if batch % 5 == 0:
            number = batch // 25
            lots |= {f"INFUSION-{number}", f"HERB-{number // 2}", f"OIL-{number // 4}"}
        batches[batch] = lots
    return batches


@pytest.mark.parametrize("by_size", [False, True])
def test_complaints_drawn_by_chance_raise_a_flag_in_five_of_a_hundred_at_most(
    *, by_size: bool
) -> None:
    """With `by_size`, a batch of many tins is complained of more often than one of few."""
    draw = Random(19)
    batches = year_of_batches(draw)
    sizes = [draw.randint(1, 6) if by_size else 1 for _ in batches]
    flags = 0
    for turn in range(300):
        complained = set(draw.choices(sorted(batches), sizes, k=2 + turn % 9))
        flags += any(suspect.stands_out for suspect in commonality(batches, complained))

    assert flags <= 15


def test_cause_among_the_same_batches_is_found_all_the_same() -> None:
    draw = Random(19)
    batches = year_of_batches(draw)
    with_it = [batch for batch, lots in batches.items() if "HERB-2" in lots]

    first, *_ = commonality(batches, {*draw.sample(with_it, 5), 3})

    assert (first.lot, first.stands_out) == ("HERB-2", True)


def test_complaints_outside_the_window_are_refused() -> None:
    with pytest.raises(RuleError, match="at least one batch"):
        commonality(window(), [])
    with pytest.raises(RuleError, match="Widen the window"):
        commonality(window(), [999])


def test_thin_data_are_warned_of() -> None:
    assert thin_data(8, 240) == []
    assert thin_data(1, 19) == [
        "Only 1 batch is complained of: what they share may be chance. Look at the lots by hand.",
        "There are only 19 batches to compare with. Compare a longer time if you can.",
    ]
