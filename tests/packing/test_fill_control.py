"""Fill control of a run: published lots, what it says in words, and whom it lets pass."""

import math
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from scipy import stats

from tests import make
from tests.packing import build
from workshop.core.errors import ActionRefused
from workshop.core.markets import (
    Market,
)
from workshop.core.models import (
    Workshop,
)
from workshop.ledger.models import Status
from workshop.packing import services
from workshop.packing.fill_control.chart import chart_of
from workshop.packing.fill_control.control_limits import drifts
from workshop.packing.fill_control.figures import check_of, supports_e_mark
from workshop.packing.fill_control.published_systems import evenly
from workshop.packing.models import FillSample, PackingRun, Product, Reading
from workshop.packing.services import fill_weights

pytestmark = pytest.mark.django_db

# Labelled 30 g, twelve packs of a lot of 12 to 250, factor 0.635, MAV 3.0 g: worked by the
# formulas of NIST Handbook 133 (2026), 2.3, with table 2-1 (from memory, as in the rules).
PASSING = "0.4 -0.3 0.1 -0.6 0.2 -0.5 0 -0.2 0.3 -0.4 -0.1 -0.1"
SHORT_ON_AVERAGE = "-0.4 -0.3 -0.2 -0.6 -0.1 -0.5 0 -0.2 -0.3 -0.4 -0.1 -0.5"
ONE_FAR_SHORT = "0.5 0.6 0.4 0.7 0.5 0.3 0.6 0.4 0.5 0.8 -3.2 0.4"


def market(which: Market) -> None:
    Workshop.objects.update_or_create(
        pk=1, defaults={"name": "Ember and Leaf", "address": "1 Mill Lane", "market": which}
    )


def tin_of_30() -> Product:
    return build.product(fill_g=Decimal(30), name="Elbow salve 30 g")


def checked(errors: str, units: int = 40) -> Any:
    run = build.run(tin_of_30(), units)
    build.weighed(run, build.errors(30, errors))
    return check_of(run)


def test_worked_lot_passes_its_average_by_the_sample_error_limit() -> None:
    check = checked(PASSING)

    assert check.mean_g == Fraction("29.9")
    assert round(check.deviation_g, 5) == Decimal("0.31623")
    # Sample error limit 0.635 x 0.31623 = 0.20080 g.
    assert round(float(check.us.promised_g - check.us.average_limit_g), 4) == 0.2008
    assert (check.us.word, check.us.problems) == ("passes", [])


def test_worked_lot_short_on_average_fails_in_words() -> None:
    check = checked(SHORT_ON_AVERAGE)

    sentence = "On average the packs are 0.3\u202fg short, which is more than chance explains."
    assert check.us.word == "fails"
    assert check.us.problems == [sentence]
    assert sentence in check.concerns


def test_worked_lot_with_one_pack_far_short_fails_although_its_average_is_good() -> None:
    check = checked(ONE_FAR_SHORT)

    assert check.us.problems == ["1 pack is short by more than 3\u202fg, and 0 may be."]


@pytest.mark.parametrize(("units", "packs"), [(2, 2), (11, 11), (250, 12), (251, 24), (3201, 48)])
def test_plan_grows_with_what_is_planned(units: int, packs: int) -> None:
    # NIST Handbook 133, table 2-1, category A (from memory).
    check = check_of(build.run(tin_of_30(), units))

    assert (check.plan and check.plan.sample_size, check.to_weigh) == (packs, packs)


def test_what_was_packed_replaces_what_was_planned() -> None:
    lot = build.packed(tin_of_30(), 300, containers=None)

    assert check_of(build.run_of(lot)).lot_size == 300


@pytest.mark.parametrize(
    ("fill", "t1", "t2"), [(30, "27.3", "24.6"), (60, "55.5", "51"), (150, "143.2", "136.4")]
)
def test_eu_limits_are_nominal_less_one_and_two_tolerable_errors(
    fill: int, t1: str, t2: str
) -> None:
    # Directive 76/211/EEC, Annex I, 2.4, read in the German Fertigpackungsverordnung, § 9.
    run = build.run(build.product(fill_g=Decimal(fill)), 40)

    said = check_of(run).eu.may_be_short

    assert said == (
        f"2.5 % of packs below {t1}\u202fg (T1, one TNE short), none below {t2}\u202fg (T2)"
    )


def test_the_three_eu_rules_each_have_their_sentence() -> None:
    run = build.run(tin_of_30(), 12)
    build.weighed(run, "30.1 30 29 27.2 24.5 30 30 30 30 30 30 30")

    assert check_of(run).eu.problems == [
        "On average the packs are 0.767\u202fg short.",
        "2 packs hold less than 27.3\u202fg (T1), and 0 may.",
        "1 pack holds less than 24.6\u202fg (T2), and none may.",
    ]


@pytest.mark.parametrize(
    ("units", "words"),
    [
        (40, "all 40 packs of so small a lot, whose average must reach it"),
        (
            400,
            "50 packs, of which 3 may be below T1; the average of 30 must reach it less 0.503 s",
        ),
        (20_000, ""),
    ],
)
def test_what_an_inspector_would_weigh_stands_beside_the_eu_rules(units: int, words: str) -> None:
    # Directive 76/211/EEC, Annex II, from memory; see the test of the rule.
    assert check_of(build.run(tin_of_30(), units)).eu.inspector == words


def test_market_says_which_system_binds() -> None:
    us = checked(PASSING)
    market(Market.EU)
    eu = checked(PASSING)

    # 0.1 g short on average: chance by the US rule, too little by the EU rule.
    assert us.concerns == []
    assert eu.concerns == ["On average the packs are 0.1\u202fg short."]
    assert [system.name[:4] for system in eu.systems] == ["Dire", "NIST"]


def test_pour_target_is_the_normal_quantile_over_the_root() -> None:
    check = checked(PASSING)
    deviation = float(check.deviation_g)

    exact = 30 + stats.norm.ppf(0.995) * deviation / math.sqrt(12)

    assert check.us.target_g == Decimal("30.3")
    assert exact <= float(check.us.target_g) < exact + 0.1


def test_contents_are_gross_less_the_average_tare() -> None:
    run = build.run(build.product(), 2)
    build.weighed(run, "14 14.2", Reading.EMPTY)
    build.weighed(run, "74.3 74.5", Reading.FULL)

    check = check_of(run)

    assert check.contents_g == [Fraction("60.2"), Fraction("60.4")]
    assert check.concerns == []
    assert check.us.passes


def test_full_packs_without_empty_ones_say_nothing_of_their_contents() -> None:
    run = build.run(build.product(), 2)
    build.weighed(run, "74.3 74.5", Reading.FULL)

    check = check_of(run)

    assert check.contents_g == []
    assert check.concerns == [
        "0 of the 2 packs that the sampling plan asks for are weighed.",
        "Full packs were weighed with 0 empty ones: weigh at least 2 empty, so that the contents "
        "are known.",
    ]


def test_uneven_containers_are_pointed_out() -> None:
    run = build.run(build.product(), 2)
    # MAV of 60 g is 5.4 g (NIST Handbook 133, table 2-5, from memory); a fifth of it is 1.08 g.
    build.weighed(run, "14 15.1", Reading.EMPTY)
    build.weighed(run, "76 76.2", Reading.FULL)

    (concern,) = check_of(run).concerns

    assert concern.startswith("The empty containers differ by 1.1\u202fg, a fifth or more")


@pytest.mark.parametrize(("division", "is_coarse"), [("1", False), ("2", True)])
def test_scale_must_show_a_sixth_of_the_largest_shortage(division: str, *, is_coarse: bool) -> None:
    # NIST Handbook 133 (2026), 2.2, example printed: 113 g, MAV 7.2 g, so 1 g is the coarsest.
    run = build.run(build.product(fill_g=Decimal(113)), 1)
    build.weighed(run, "114", scale=build.scale(division))

    concerns = check_of(run).concerns

    assert any(
        "this test needs a scale that shows 1.2\u202fg or less" in one for one in concerns
    ) == (is_coarse)


def test_more_packs_than_the_plan_asks_for_are_all_held_against_the_largest_shortage() -> None:
    run = build.run(tin_of_30(), 2)
    build.weighed(run, "30.2 30.3 26.9")

    # Two of three give the average; the third is the one far short.
    assert evenly([Fraction(n) for n in range(3)], 2) == [0, 1]
    assert check_of(run).us.problems == ["Of all packs weighed, 1 hold less than 27\u202fg."]


def test_nothing_is_asked_of_a_fill_that_the_test_does_not_cover() -> None:
    run = build.run(build.product(fill_g=Decimal("5400")), 2)

    check = check_of(run)

    assert check.us.not_covered == (
        "Packs of more than 11.7 lb (5307 g) are not covered by this fill test."
    )
    assert (check.us.word, check.concerns) == ("not covered", [])


def test_a_pack_beyond_the_limits_and_a_long_run_on_one_side_are_out_of_control() -> None:
    steady = [Fraction(60) + Fraction(n % 2, 10) for n in range(12)]
    beyond = [*steady[:11], Fraction(57)]
    spike = [*steady[:6], Fraction("60.9"), *steady[7:]]
    falling = [Fraction(60) - Fraction(n, 100) for n in range(16)]

    # Shewhart: mean +- 2.66 moving ranges; Western Electric: eight in a row on one side.
    assert [drifts(one) for one in (steady, beyond, spike)] == [[], [11], [6]]
    assert {7, 15} <= set(drifts(falling))


def test_e_mark_needs_a_complete_and_passing_eu_check() -> None:
    too_few, short, good = (build.run(tin_of_30(), 12) for _ in range(3))
    build.weighed(too_few, "30.5 30.4")
    build.weighed(short, build.errors(30, PASSING))
    build.weighed(good, build.errors(30, "0.4 0.3 0.1 0.6 0.2 0.5 0 0.2 0.3 0.4 -0.1 0.1"))

    assert [supports_e_mark(run) for run in (too_few, short, good)] == [False, False, True]


def test_e_mark_is_not_for_less_than_five_grams() -> None:
    # Directive 76/211/EEC, article 1: from 5 g to 10 kg.
    run = build.run(build.product(fill_g=Decimal("4.25")), 1)
    build.weighed(run, "4.4")

    assert not supports_e_mark(run)


# ---- Release -------------------------------------------------------------------------------------


def released(run: PackingRun, **values: Any) -> Status:
    lot = run.operation.lots.get()
    return Status(services.release(lot, by=make.user(), at=make.NOON, **values).status)


def test_well_weighed_lot_is_released_without_a_word() -> None:
    run = build.run_of(build.packed(tin_of_30(), 12))
    build.weighed(run, build.errors(30, PASSING))

    assert released(run) == Status.RELEASED


@pytest.mark.parametrize("errors", [SHORT_ON_AVERAGE, ONE_FAR_SHORT, "0.1 0.2"])
def test_lot_with_a_doubt_about_its_fill_is_released_for_a_reason_only(errors: str) -> None:
    run = build.run_of(build.packed(tin_of_30(), 12))
    build.weighed(run, build.errors(30, errors))

    with pytest.raises(ActionRefused, match="Say why the lot may go out all the same") as refused:
        released(run)
    assert refused.value.field == "reason"
    assert run.operation.lots.get().status == Status.QUARANTINE
    assert released(run, reason="each tin weighed and the light ones taken out") == Status.RELEASED
    change = run.operation.lots.get().status_changes.last()
    assert change
    assert change.reason == "each tin weighed and the light ones taken out"


# ---- Weighing ------------------------------------------------------------------------------------


def test_same_token_weighs_once() -> None:
    run = build.run()

    first = build.weighed(run, "60.1 60.2", token="t")
    again = build.weighed(run, "60.1 60.2", token="t")

    assert first == again
    assert run.samples.count() == 2
    with pytest.raises(ActionRefused, match="already sent with other figures"):
        build.weighed(run, "60.1 60.3", token="t")


def test_slip_of_a_digit_is_asked_about_and_nothing_is_written() -> None:
    run = build.run()

    with pytest.raises(ActionRefused) as refused:
        build.weighed(run, "60.2 6.2", confirmed=False)

    assert refused.value.field == "confirmed"
    assert refused.value.message == (
        "6.2\u202fg is far from a fill of 60.0\u202fg: correct it, or tick that it is right."
    )
    assert not run.samples.exists()
    assert len(build.weighed(run, "60.2 6.2")) == 2


def test_gross_weight_is_looked_at_without_its_tare() -> None:
    run = build.run()
    build.weighed(run, "300 300", Reading.EMPTY)

    assert build.weighed(run, "360.5", Reading.FULL, confirmed=False)
    with pytest.raises(ActionRefused, match="is far from a fill of"):
        build.weighed(run, "60.5", Reading.FULL, confirmed=False)


@pytest.mark.parametrize("weights", ["", " ".join(["60"] * 61), "0", "-3"])
def test_odd_numbers_of_weights_and_odd_weights_are_refused(weights: str) -> None:
    run = build.run()

    with pytest.raises(ActionRefused) as refused:
        build.weighed(run, weights)
    assert refused.value.field == "weights"
    assert not run.samples.exists()


def test_a_run_takes_only_so_many_weights() -> None:
    run = build.run()
    for _ in range(8):
        build.weighed(run, " ".join(["60"] * 60))

    with pytest.raises(ActionRefused, match="at most 500 weights"):
        build.weighed(run, " ".join(["60"] * 21))


def test_nothing_is_weighed_for_a_settled_lot_or_a_stopped_run() -> None:
    lot = build.packed()
    services.reject(lot, by=make.user(), at=make.NOON, reason="spoiled")
    stopped = build.run()
    services.stop(stopped, by=make.user(), at=make.NOON, reason="wrong tins")

    with pytest.raises(ActionRefused, match=f"Lot {lot} is rejected, so its fill check is over"):
        build.weighed(build.run_of(lot), "60.1")
    with pytest.raises(ActionRefused, match="was stopped; nothing more is weighed"):
        build.weighed(stopped, "60.1")


def test_correction_takes_the_place_and_the_first_weight_stays_on_record() -> None:
    run, by = build.run(), make.user()
    _, second, third = build.weighed(run, "60.1 50.2 60.3")

    fill_weights.correct(second, Decimal("60.2"), by=by, at=make.NOON, token="c", reason="misread")
    again = fill_weights.correct(
        second, Decimal("60.2"), by=by, at=make.NOON, token="c", reason="misread"
    )
    fill_weights.correct(third, None, by=by, at=make.NOON, token="d", reason="weighed twice")

    assert again.corrects == second
    assert check_of(run).contents_g == [Fraction("60.1"), Fraction("60.2")]
    assert list(run.samples.values_list("place", "grams").order_by("pk")) == [
        (1, Decimal("60.1")),
        (2, Decimal("50.2")),
        (3, Decimal("60.3")),
        (2, Decimal("60.2")),
        (3, None),
    ]


def test_weight_is_corrected_once_and_with_a_reason() -> None:
    run, by = build.run(), make.user()
    (sample,) = build.weighed(run, "60.1")

    with pytest.raises(ActionRefused, match="Say why the weight is corrected"):
        fill_weights.correct(sample, None, by=by, at=make.NOON, token="a", reason=" ")
    fill_weights.correct(sample, None, by=by, at=make.NOON, token="b", reason="twice")
    with pytest.raises(ActionRefused, match="was corrected already"):
        fill_weights.correct(sample, None, by=by, at=make.NOON, token="c", reason="twice")


# ---- What the database refuses -------------------------------------------------------------------


@pytest.mark.parametrize(
    "sql",
    ["UPDATE packing_fillsample SET grams = 5", "DELETE FROM packing_fillsample"],
)
def test_weights_are_only_ever_added(sql: str) -> None:
    build.weighed(build.run(), "60.1")

    with (
        pytest.raises(IntegrityError, match="only ever added"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(sql)


@pytest.mark.parametrize(
    ("values", "constraint"),
    [
        ({"kind": "guess"}, "fill_sample_kind_is_known"),
        ({"grams": Decimal(0)}, "fill_sample_weighs_something"),
        ({"grams": None}, "fill_sample_weighs_something"),
        ({"token": ""}, "fill_sample_has_a_token"),
        ({"place": 1}, "fill_sample_place_once|packing_fillsample.place"),
        ({"corrects": True, "place": 1}, "fill_sample_correction_says_why"),
    ],
)
def test_database_refuses_an_odd_weight(values: dict[str, Any], constraint: str) -> None:
    run = build.run()
    (first,) = build.weighed(run, "60.1")
    usual = {"run": run, "kind": "net", "grams": Decimal(60), "place": 2, "token": "t"}
    if values.get("corrects"):
        values = values | {"corrects": first}

    with pytest.raises(IntegrityError, match=constraint), transaction.atomic():
        FillSample.objects.create(by=make.user(), at=make.NOON, **(usual | values))


# ---- The chart -----------------------------------------------------------------------------------


def test_chart_shows_every_pack_and_marks_those_out_of_control() -> None:
    run = build.run(build.product(), 12)
    build.weighed(run, "60.4 60.2 60.3 60.5 60.2 60.4 60.1 60.3 60.2 60.1 60.0 57.2")

    chart = chart_of(check_of(run))

    assert chart
    assert [point.number for point in chart.points if point.is_out] == [12]
    assert [line.name.partition(" ")[0] for line in chart.lines] == [
        "upper",
        "label",
        "average",
        "lower",
        "too",
    ]
    assert chart.words == ("12 fills in pouring order, on average 59.99\u202fg; 1 out of control.")


def test_names_in_the_chart_do_not_overlap_and_heavier_stands_higher() -> None:
    run = build.run(build.product(), 12)
    build.weighed(run, "60.01 60 60.01 60 60.02 60")

    chart = chart_of(check_of(run))

    assert chart
    heights = [Decimal(line.name_y) for line in chart.lines]
    assert all(after - before >= 17 for before, after in pairwise(heights))
    assert all(0 <= height <= chart.height for height in heights)
    ys = {one.said.partition(": ")[2]: Decimal(one.y) for one in chart.points}
    assert ys["60.02\u202fg"] < ys["60.01\u202fg"] < ys["60\u202fg"]


def test_chart_needs_two_packs() -> None:
    run = build.run()
    build.weighed(run, "60.1")

    assert chart_of(check_of(run)) is None
