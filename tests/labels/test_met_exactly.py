"""Limits met exactly, and differences of two kinds at once."""

from datetime import timedelta
from decimal import Decimal

import pytest

from tests import make
from tests.kettle import build as kettle
from tests.labels import build
from tests.labels.test_print_status import Bench
from tests.packing import build as packing
from workshop.core.errors import ActionRefused
from workshop.core.markets import (
    Market,
)
from workshop.core.models import (
    Role,
    User,
)
from workshop.labels.approval.print_status import label_status
from workshop.labels.content.label import label_for
from workshop.labels.models import Decision
from workshop.labels.services.decisions import decide
from workshop.ledger.models import Lot, Status
from workshop.materials.models import Constituency
from workshop.materials.services.data_sheets import save_contents
from workshop.packing import services as packing_services

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return make.user(Role.OWNER)


def test_sticker_does_not_mend_a_label_that_is_untrue_beyond_its_list(owner: User) -> None:
    bench = Bench()
    bench.approve(bench.usual(), owner)
    rosemary = build.oil("Rosmarinus Extract")
    parts = ((bench.olive, 800), (bench.wax, 190), (bench.vitamin, 5), (rosemary, 5))
    lot = bench.lot(*parts, takes_g=588)

    standing = label_status(lot)

    assert [one.way for one in standing.untrue] == ["extra", "contents"]
    assert not standing.may_be_relabelled
    with pytest.raises(
        ActionRefused, match="does not correct this: The approved label says Net wt"
    ):
        decide(lot, "relabel", by=owner, at=make.NOON, reason="Stock.", token="d")
    assert not Decision.objects.exists()


def test_sticker_of_one_difference_does_not_cover_a_second_that_came_later(owner: User) -> None:
    bench = Bench()
    version = bench.approve(bench.usual(), owner)
    rosemary = build.oil("Rosmarinus Extract")
    lot = bench.lot((bench.olive, 800), (bench.wax, 190), (bench.vitamin, 5), (rosemary, 5))
    found = label_status(lot)
    decide(lot, "relabel", by=owner, at=make.NOON, reason="Stock.", token="d")
    assert label_status(lot).is_relabelled

    Decision.objects.create(
        lot=lot, version=version, kind="relabel", reason="Stock.", at=make.NOON, by=owner,
        token="e", sentences=[*[one.sentence for one in found.untrue], "Another."],
    )  # fmt: skip
    assert label_status(lot).is_relabelled
    Decision.objects.create(
        lot=lot, version=version, kind="relabel", reason="Stock.", at=make.NOON, by=owner,
        token="f", sentences=["Another."],
    )  # fmt: skip
    assert not label_status(lot).is_relabelled


@pytest.mark.parametrize("market", [Market.EU, Market.UK])
@pytest.mark.parametrize(
    ("percent", "named"),
    # Source: Regulation (EU) 2023/1545: more than 0.001 % of a leave-on product, of which the
    # scent is a hundredth.
    [("0.1", []), ("0.1001", ["Limonene"]), ("0.0999", [])],
)
def test_allergen_at_its_threshold_is_not_named_and_just_above_it_is(
    percent: str, named: list[str], market: Market
) -> None:
    # Great Britain keeps the thresholds of Annex III as retained, from memory.
    build.workshop(market=market)
    scent = build.oil("Scent", constituency=Constituency.FRAGRANCE)
    save_contents(scent, {"Limonene": Decimal(percent)}, by=make.user(), at=make.NOON)

    lot = build.finished([(build.oil("Oil"), 990), (scent, 10)])

    label = label_for(lot)
    assert list(label.declaration.names) == ["Oil", "Parfum", *named]
    assert list(label.wording.allergens) == named
    # 21 U.S.C. 364e(b) waits for the authority's list.
    assert list(label_for(lot, Market.US).declaration.names) == ["Oil", "Fragrance"]


@pytest.mark.parametrize(("percent", "named"), [("1", []), ("1.001", ["Limonene"]), ("0.999", [])])
def test_allergen_of_a_soap_at_its_threshold_is_not_named_and_just_above_it_is(
    percent: str, named: list[str]
) -> None:
    # Regulation (EU) 2023/1545: more than 0.01 % of what is rinsed off; the scent is a hundredth.
    build.workshop(market=Market.EU)
    scent = build.oil("Scent", constituency=Constituency.FRAGRANCE)
    save_contents(scent, {"Limonene": Decimal(percent)}, by=make.user(), at=make.NOON)
    oil = build.oil("Oil")
    version = kettle.version([(oil.item, "99"), (scent.item, "1")], is_rinse_off=True)
    batch = kettle.batch(version)
    for line, lot in zip(batch.lines.all(), (oil, scent), strict=True):
        kettle.weigh(line, lot=lot)
    (made,) = kettle.pour(batch)
    kettle.release(batch)
    made.refresh_from_db()

    packed = packing.packed(packing.product(bulk=made.item), 2, bulk=made)

    assert list(label_for(packed).declaration.names) == ["Oil", "Parfum", *named]


def test_lot_is_labelled_and_released_on_its_last_day_and_not_on_the_next(owner: User) -> None:
    build.workshop()
    last = build.balm()
    over = build.balm(name="Foot salve", code="FOOT")

    for lot in (last, over):
        make.dated(lot, make.DAY)
    found = packing_services.release(
        Lot.objects.get(pk=last.pk), by=owner, at=make.NOON, reason="Checked by hand."
    )
    assert found.status == Status.RELEASED
    with pytest.raises(ActionRefused, match="cannot be released any more"):
        packing_services.release(
            Lot.objects.get(pk=over.pk), by=owner, at=make.NOON + timedelta(days=1), reason="So."
        )
    assert packing.run_of(over).operation.lots.get().status == Status.QUARANTINE
