"""The EU reference test: the directive's plans, and the statistics behind their factors."""

import math

import pytest
from scipy import stats

from workshop.rules.errors import RuleError
from workshop.rules.fill.eu_reference_test import PLANS, reference_test_eu


@pytest.mark.parametrize(
    ("lot", "size", "allowed", "average_of"),
    [
        # Directive 76/211/EEC, Annex II, 2.2.1.1 and 2.3.2.1, from memory.
        (100, 50, 3, 30), (500, 50, 3, 30), (501, 80, 5, 50), (3200, 80, 5, 50),
        (3201, 125, 7, 50), (10_000, 125, 7, 50),
        # All packs of a small lot, 2.5 % of which is less than one up to 39.
        (1, 1, 0, 1), (39, 39, 0, 39), (40, 40, 1, 40), (99, 99, 2, 99),
    ],
)  # fmt: skip
def test_plan_follows_the_size_of_the_lot(
    lot: int, size: int, allowed: int, average_of: int
) -> None:
    plan = reference_test_eu(lot)

    assert (plan.sample_size, plan.allowed_short, plan.average_of) == (size, allowed, average_of)


@pytest.mark.parametrize("plan", PLANS)
def test_factor_is_the_t_quantile_over_the_root(plan: tuple[int, int, int, int, object]) -> None:
    _, _, _, size, factor = plan

    assert float(str(factor)) == pytest.approx(
        stats.t.ppf(0.995, size - 1) / math.sqrt(size), abs=0.001
    )


@pytest.mark.parametrize("lot", [0, -1, 10_001])
def test_lots_beyond_the_directive_are_refused(lot: int) -> None:
    with pytest.raises(RuleError, match="covers lots of 1 to 10 000 packs"):
        reference_test_eu(lot)
