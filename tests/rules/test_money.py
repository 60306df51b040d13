"""Money, held to worked examples in print: sources are named at each."""

from collections import Counter
from decimal import Decimal
from fractions import Fraction
from random import Random
from typing import Any

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.rules.errors import RuleError
from workshop.rules.money.amounts import (
    margin_percent,
    net_price,
    overhead_absorbed,
    refuse_finer,
    rounded,
    shared_out,
    stock_turn,
)
from workshop.rules.money.book_costs import FINE, Act, BookCosts, book_costs, fine, fine_each
from workshop.rules.money.cost_flow import Flow, Move, first_in_first_out, moving_average
from workshop.rules.money.lot_costs import Making, UnitCost, lot_costs

# One merchant's July: Principles of Accounting, volume 1 (OpenStax), inventory cost flow.
JULY = [
    Move(came_in=150, value=150 * 21),
    Move(taken=120),
    Move(came_in=225, value=225 * 27),
    Move(taken=180),
    Move(came_in=210, value=210 * 33),
]


def test_oldest_first_is_the_textbooks_7200_with_8955_left() -> None:
    assert first_in_first_out(JULY) == Flow(Fraction(7200), Fraction(8955))


def test_moving_average_is_the_textbooks_without_its_rounding() -> None:
    sold, left = moving_average(JULY)
    # Printed with a rounded unit cost of 26.29: 7 253 and 8 902.
    assert (rounded(sold, 2), rounded(left, 2)) == (Decimal("7252.94"), Decimal("8902.06"))
    assert sold + left == 16_155


def test_average_of_the_whole_month_is_the_textbooks_without_its_rounding() -> None:
    """All purchases first: 16 155 for 585. Printed with 27.62 a unit: 8 283 sold, 7 872 left."""
    bought = [move for move in JULY if move.came_in]
    sold, left = moving_average([*bought, Move(taken=120 + 180)])
    assert (rounded(sold, 2), rounded(left, 2)) == (Decimal("8284.62"), Decimal("7870.38"))


def test_stock_turns_over_1_19_times_in_the_textbooks_year() -> None:
    """OpenStax, volume 1, inventory ratios: 7 200 sold of 3 150 to 8 955, 307 days of stock."""
    turns = stock_turn(7200, 3150, 8955)
    assert turns is not None
    assert rounded(turns, 2) == Decimal("1.19")
    assert rounded(365 / turns, 0) == 307
    assert stock_turn(5, 0, 0) is None


def test_by_the_very_lot_is_the_textbooks_7260() -> None:
    unit = lot_costs({1: Fraction(21), 2: Fraction(27)}, [])
    # 120 and 20 of the first purchase, 160 of the second.
    assert unit[1].amount * 140 + unit[2].amount * 160 == 7260


@pytest.mark.parametrize("flow", [moving_average, first_in_first_out])
def test_no_more_is_taken_than_there_is(flow: Any) -> None:
    with pytest.raises(RuleError, match="More is taken"):
        flow([Move(came_in=5, value=10), Move(taken=6)])


@given(
    st.lists(
        st.tuples(st.integers(1, 1000), st.integers(0, 100_000), st.fractions(0, 1)), max_size=12
    )
)
def test_what_was_taken_and_what_is_left_are_all_that_was_paid(
    bought: list[tuple[int, int, Fraction]],
) -> None:
    moves, there = [], Fraction()
    for quantity, value, share in bought:
        there += quantity
        moves += [Move(came_in=quantity, value=value), Move(taken=there * share)]
        there *= 1 - share
    for flow in (moving_average(moves), first_in_first_out(moves)):
        assert flow.taken + flow.left == sum(value for _, value, _ in bought)


# Principles of Accounting, volume 2 (OpenStax), job order costing: overhead at 2.50 per dollar of
# labour.
@pytest.mark.parametrize(
    ("start", "material", "labour", "total"),
    [(1531, 0, 0, 1531), (1000, 200, 150, 1725), (0, 700, 66, 931), (0, 500, 150, 1025)],
)
def test_job_costs_material_labour_and_overhead(
    start: int, material: int, labour: int, total: int
) -> None:
    assert start + material + labour + overhead_absorbed(labour, 250) == total


def test_jobs_are_sold_finished_or_in_work_and_the_material_is_accounted_for() -> None:
    """The same text: 931 and 1 531 sold, 1 725 finished, 1 025 in work; 1 400 of material."""
    opening, bought, closing = 2500, 10_500, 11_600
    assert opening + bought - closing == 0 + 200 + 700 + 500
    labour = [0, 150, 66, 150]
    jobs = [1531, 1000 + 200 + 150, 700 + 66, 500 + 150]
    totals = [job + overhead_absorbed(work, 250) for job, work in zip(jobs, labour, strict=True)]
    assert [totals[0] + totals[2], totals[1], totals[3]] == [2462, 1725, 1025]
    assert sum(totals) == 5212


@pytest.mark.parametrize(
    ("actual", "base", "percent", "left"),
    [
        # The same text, two years: what was spent beyond what the jobs bore.
        (256_500, 100_000, 250, 6_500),
        (209_250, 6_240, 3_350, 210),
        # IAS 2.13 (as a commentary on the Indian standard has it): 1 000 000 over a normal 10 000
        # units; 8 000 made bear 800 000, the rest is an expense.
        (1_000_000, 8_000, 10_000, 200_000),
    ],
)
def test_overhead_that_nothing_made_bears_is_left_over(
    actual: int, base: int, percent: int, left: int
) -> None:
    assert actual - overhead_absorbed(base, percent) == left


def test_what_is_half_done_bears_the_work_done_on_it() -> None:
    """OpenStax, volume 2, process costing: 8 700 begun, 7 500 done, 1 200 with 35 % of the work.

    8 700 and 7 920 equivalent units; 1.17 and 2.80 each; 29 775 done and 2 580 in work.
    """
    material, work, done, in_work = 1, 2, 3, 4
    half = Fraction(1200 * 35, 100)
    bought: dict[int, Fraction | None] = {
        material: Fraction(10_179, 7500 + 1200),
        work: Fraction(22_176) / (7500 + half),
    }
    assert bought == {material: Fraction("1.17"), work: Fraction("2.80")}
    finished = Making({material: Fraction(7500), work: Fraction(7500)}, {done: Fraction(7500)})
    begun = Making({material: Fraction(1200), work: half}, {in_work: Fraction(1200)})
    costs = lot_costs(bought, [finished, begun])
    assert costs[done].amount == Fraction("3.97")
    assert [costs[done].amount * 7500, costs[in_work].amount * 1200] == [29_775, 2_580]


@pytest.mark.parametrize(
    ("cost", "good", "spilled", "unit", "loss"),
    [
        # 3 000 kg for 52 800, a tenth lost as usual: course notes on process costing, 19.56 a kg.
        (52_800, 2700, 0, Fraction(52_800, 2700), 0),
        # 20 700 less scrap of 180; 100 kg lost as usual, 100 more, 800 good: a course text, 22.80.
        (20_520, 800, 100, Fraction("22.80"), 2280),
        # 800 kg at 7, 5 % lost as usual, 750 good: an exercise in print, 7.37.
        (5600, 750, 10, Fraction(5600, 760), Fraction(56_000, 760)),
        # 900 kg at 9, 5 % lost as usual, 850 good: 5 kg abnormal, 47.37 (the same exercises).
        (8100, 850, 5, Fraction(8100, 855), Fraction(40_500, 855)),
        # 1 000 units at 4.50, a tenth lost as usual, 860 good: unit 5.00, 40 abnormal, 200.
        (4500, 860, 40, Fraction(5), 200),
        # The same with 920 good: 20 more than usual, a gain of 100.
        (4500, 920, -20, Fraction(5), -100),
    ],
)
def test_usual_loss_is_in_the_unit_cost_and_other_loss_is_not(
    cost: int, good: int, spilled: int, unit: Fraction, loss: Fraction
) -> None:
    process = Making({1: Fraction(1)}, {2: Fraction(good)}, spilled=Fraction(spilled))
    costs = lot_costs({1: Fraction(cost)}, [process])
    assert costs[2].amount == unit
    assert process.loss(costs) == loss


@pytest.mark.parametrize(
    ("total", "weights", "parts"),
    [
        # Freight of 45.00 by weight and by value (calculated).
        ("45.00", [25, 10], ["32.14", "12.86"]),
        ("45.00", [150, 120], ["25.00", "20.00"]),
        ("10.00", [1, 1, 1], ["3.34", "3.33", "3.33"]),
        ("0.05", [1, 1, 1], ["0.02", "0.02", "0.01"]),
        ("45.00", [25, 10, 3], ["29.61", "11.84", "3.55"]),
        # Two joint products: 36 000 over 25 lb and 75 lb (OpenStax, joint costs).
        ("36000", [25, 75], ["9000.00", "27000.00"]),
        ("36000", [25 * 150, 75 * 125], ["10285.71", "25714.29"]),
        # A kettle of 96.00 into tins and jars, by what they sell for and by weight (calculated).
        ("96.00", [2700, 960], ["70.82", "25.18"]),
        ("96.00", [9, 3], ["72.00", "24.00"]),
        ("-10.00", [1, 2], ["-3.33", "-6.67"]),
    ],
)
def test_parts_of_an_invoice_add_up_to_the_cent(
    total: str, weights: list[int], parts: list[str]
) -> None:
    assert [f"{part:.2f}" for part in shared_out(Decimal(total), weights, 2)] == parts


@given(
    st.integers(-(10**9), 10**9),
    st.lists(st.integers(0, 10**6), min_size=1, max_size=30).filter(any),
    st.sampled_from([0, 2, 3, 4]),
)
def test_parts_add_up_and_none_is_a_whole_cent_off(
    units: int, weights: list[int], digits: int
) -> None:
    total = Decimal(units).scaleb(-digits)
    parts = shared_out(total, weights, digits)
    assert sum(parts) == total
    for part, weight in zip(parts, weights, strict=True):
        fair = Fraction(units * weight, sum(weights))
        assert abs(Fraction(part) * 10**digits - fair) < 1


@pytest.mark.parametrize(("total", "weights"), [("1", [0, 0]), ("1", [-1, 3]), ("0.001", [1])])
def test_what_cannot_be_shared_out_is_refused(total: str, weights: list[int]) -> None:
    with pytest.raises(RuleError):
        shared_out(Decimal(total), weights, 2)


@pytest.mark.parametrize(
    ("amount", "digits", "text"),
    [
        ("2.665", 2, "2.67"),
        ("2.675", 2, "2.68"),
        ("0.125", 2, "0.13"),
        ("1.005", 2, "1.01"),
        ("-2.665", 2, "-2.67"),
        # ISO 4217: no minor unit in JPY, three digits in KWD.
        ("1234.5", 0, "1235"),
        ("1.2345", 3, "1.235"),
    ],
)
def test_half_a_cent_is_rounded_away_from_nought(amount: str, digits: int, text: str) -> None:
    assert str(rounded(Decimal(amount), digits)) == text


@pytest.mark.parametrize(("amount", "digits"), [("1234.5", 0), ("1.2345", 3), ("0.001", 2)])
def test_amount_finer_than_its_currency_is_refused(amount: str, digits: int) -> None:
    with pytest.raises(RuleError, match="An amount in XXX has"):
        refuse_finer(Decimal(amount), digits, "XXX")


def test_unit_cost_rounded_to_cents_would_lose_seven_of_them() -> None:
    unit = Fraction("126.50") / 47
    assert rounded(rounded(unit, 2) * 47, 2) == Decimal("126.43")
    assert rounded(unit * 47, 2) == Decimal("126.50")


def test_margin_is_of_the_price_and_not_of_the_cost() -> None:
    assert margin_percent(10, 4) == 60
    # 60 % on top of a cost of 4.00 is a price of 6.40, and a margin of 37.5 % only.
    assert margin_percent(Fraction("6.40"), 4) == Fraction("37.5")
    assert margin_percent(0, 4) is None


def test_price_of_a_line_is_less_its_discount() -> None:
    six = Decimal("6.00")
    assert net_price(six, quantity=25, is_each=True) == 150
    assert net_price(six, quantity=25, is_each=False, discount_percent=Decimal(10)) == Fraction(
        "5.40"
    )


@pytest.mark.parametrize(
    ("by", "a_kilogram"),
    [([25, 10], ["7.2856", "13.2860"]), ([150, 120], ["7.0000", "14.0000"])],
)
def test_a_kilogram_costs_its_price_and_its_share_of_the_freight(
    by: list[int], a_kilogram: list[str]
) -> None:
    """25 kg of oil for 150.00, 10 kg of wax for 120.00, freight 45.00 by weight or value."""
    freight = shared_out(Decimal("45.00"), by, 2)
    bought = zip([150, 120], freight, [25, 10], strict=True)
    costs = [Fraction(price + extra) / kilograms for price, extra, kilograms in bought]
    assert [str(rounded(cost, 4)) for cost in costs] == a_kilogram


# ---- Through the lots ----------------------------------------------------------------------------


def test_spill_is_a_loss_of_its_own_and_the_film_on_the_kettle_is_not() -> None:
    batch = Making({1: Fraction(1000)}, {2: Fraction(760)}, spilled=Fraction(40))
    costs = lot_costs({1: Fraction(8)}, [batch])
    assert costs[2] == UnitCost(Fraction(10), is_whole=True)
    assert batch.loss(costs) == 400


def test_stopped_batch_is_a_loss_whole_and_an_open_one_none_yet() -> None:
    open_one = Making({1: Fraction(10)}, {}, is_over=False)
    stopped = Making({1: Fraction(10)}, {}, added=Fraction(7))
    costs = lot_costs({1: Fraction(2)}, [open_one, stopped])
    assert [open_one.loss(costs), stopped.loss(costs)] == [0, 27]


def test_missing_price_makes_a_cost_at_least_so_much_at_any_depth() -> None:
    balm = Making({1: Fraction(5), 2: Fraction(5)}, {3: Fraction(10)})
    tins = Making({3: Fraction(10)}, {4: Fraction(2)})
    costs = lot_costs({1: Fraction(2), 2: None}, [balm, tins])
    assert costs[4] == UnitCost(Fraction(5), is_whole=False)
    assert costs[1].is_whole


def test_lot_that_nobody_knows_the_price_of_is_not_whole() -> None:
    assert lot_costs({}, [Making({9: Fraction(1)}, {10: Fraction(1)})])[10].is_whole is False


def test_lot_made_of_itself_is_refused() -> None:
    with pytest.raises(RuleError, match="made of itself"):
        lot_costs(
            {},
            [
                Making({1: Fraction(1)}, {2: Fraction(1)}),
                Making({2: Fraction(1)}, {1: Fraction(1)}),
            ],
        )


@st.composite
def workshops(draw: Any) -> tuple[dict[int, Fraction], list[Making]]:
    """Lots bought, and operations that each make one lot of earlier ones."""
    count = draw(st.integers(1, 5))
    amount = st.integers(0, 500).map(Fraction)
    bought = {lot: draw(amount) for lot in range(count)}
    makings = []
    for lot in range(count, count + draw(st.integers(1, 12))):
        sources = draw(st.lists(st.integers(0, lot - 1), min_size=1, max_size=4, unique=True))
        taken = {source: Fraction(draw(st.integers(1, 99))) for source in sources}
        made = {lot: Fraction(draw(st.integers(1, 99)))}
        spilled = Fraction(draw(st.integers(0, 20)))
        makings.append(Making(taken, made, added=draw(amount), spilled=spilled))
    return bought, makings


@given(workshops())
def test_what_was_paid_is_in_lots_or_was_lost(
    book: tuple[dict[int, Fraction], list[Making]],
) -> None:
    """Value of all that came out = value of what went in + added - lost, summed over the book."""
    bought, makings = book
    costs = lot_costs(dict(bought), makings)
    out = sum(costs[lot].amount * q for m in makings for lot, q in m.made.items())
    into = sum(costs[lot].amount * q for m in makings for lot, q in m.taken.items())
    assert out == into + sum(m.added for m in makings) - sum(m.loss(costs) for m in makings)


@given(workshops())
def test_cost_of_a_lot_is_that_of_all_ways_to_it(
    book: tuple[dict[int, Fraction], list[Making]],
) -> None:
    """Each bought lot adds its price times the products of shares along every path (networkx)."""
    bought, makings = book
    plain = [Making(m.taken, m.made) for m in makings]
    tree = nx.DiGraph()
    tree.add_nodes_from(bought)
    for making in plain:
        ((lot, made),) = making.made.items()
        for source, quantity in making.taken.items():
            tree.add_edge(source, lot, share=quantity / made)
    last = max(tree.nodes)
    expected = Fraction()
    for lot, price in bought.items():
        for path in nx.all_simple_paths(tree, lot, last):
            share = Fraction(1)
            for edge in nx.utils.pairwise(path):
                share *= tree.edges[edge]["share"]
            expected += price * share
    assert lot_costs(dict(bought), plain)[last].amount == expected


# ---- A whole book --------------------------------------------------------------------------------


def whole_of(bought: dict[int, Fraction | None], makings: list[Making]) -> BookCosts:
    """The same as fine parts and thousandths; each operation is named by its place."""
    acts = [
        Act(
            place,
            list(one.taken),
            [-int(quantity * 1000) for quantity in one.taken.values()],
            {lot: int(quantity * 1000) for lot, quantity in one.made.items()},
            fine(one.added),
            one.is_added_known,
            int(one.spilled * 1000),
            one.is_over,
        )
        for place, one in enumerate(makings)
    ]
    one = Fraction(1)
    paid = {lot: None if cost is None else fine_each(cost, one) for lot, cost in bought.items()}
    makers = Counter(lot for one in makings for lot in one.made)
    return book_costs(paid, makers, acts)


@given(workshops(), st.sets(st.integers(0, 4)), st.randoms(use_true_random=False))
def test_whole_book_costs_what_its_lots_cost_one_by_one(
    book: tuple[dict[int, Fraction], list[Making]],
    without_price: set[int],
    draw: Random,
) -> None:
    """Fine parts against fractions, in any order; also where two operations made one lot."""
    bought, makings = book
    if draw.random() < 0.5:
        last = makings[-1]
        makings = [*makings, Making({0: Fraction(7)}, last.made, added=Fraction(5))]
    paid = {lot: None if lot in without_price else price for lot, price in bought.items()}
    draw.shuffle(makings)
    costs, whole = lot_costs(paid, makings), whole_of(paid, makings)
    for lot, cost in costs.items():
        assert abs(Fraction(whole.each[lot] * 1000, FINE) - cost.amount) < Fraction(1, 10**30)
        assert (lot in whole.lacking) != cost.is_whole
    for place, making in enumerate(makings):
        loss = Fraction(whole.lost.get(place, 0), FINE)
        assert abs(loss - making.loss(costs)) < Fraction(1, 10**30)
    # What two of them put into one lot, the one lacks and the other has over.
    assert abs(sum(whole.in_work.values())) < FINE // 10**30


def test_whole_book_refuses_a_lot_made_of_itself() -> None:
    with pytest.raises(RuleError, match="made of itself"):
        book_costs({}, {1: 1, 2: 1}, [Act(1, [1], [-1], {2: 1}), Act(2, [2], [-1], {1: 1})])
