"""What a unit holds on average: all that was filled, or less if a whole check found less."""

from decimal import Decimal

import pytest

from tests import make
from tests.labels import build
from tests.packing import build as packing
from workshop.labels.approval.print_status import label_status
from workshop.ledger.models import Lot
from workshop.packing.fill_control.figures import check_of
from workshop.packing.models import Reading

pytestmark = pytest.mark.django_db


def lot_of_ten(filled_g: int) -> Lot:
    """Ten units labelled 60 g, of so many grams in all, not yet weighed."""
    build.workshop()
    melt = build.bulk([(build.oil("Cera Alba"), 5000)])
    product = packing.product(bulk=melt.item, fill_g=Decimal(60))
    takes = [(melt, Decimal(filled_g))]
    return packing.packed(product, 10, bulk=takes, draw=build.digits_only)


def said_of_the_fill(lot: Lot) -> list[str]:
    return [one.sentence for one in label_status(lot).untrue if "on average" in one.sentence]


def test_failed_check_that_found_less_than_was_filled_counts() -> None:
    lot = lot_of_ten(600)
    assert said_of_the_fill(lot) == []

    packing.weighed(packing.run_of(lot), "58.8 " * 10, by=make.user())

    (said,) = said_of_the_fill(lot)
    assert "hold 58.8\u202fg on average" in said


def test_failed_check_that_found_more_than_was_filled_hides_no_shortage() -> None:
    """One pack far short fails the check; the others are so full that its average is good."""
    lot = lot_of_ten(588)

    packing.weighed(packing.run_of(lot), "50 " + "62 " * 9, by=make.user())

    assert check_of(packing.run_of(lot)).binding.problems
    (said,) = said_of_the_fill(lot)
    assert "hold 58.8\u202fg on average" in said


def test_check_without_its_empty_containers_is_unfinished_and_not_counted_as_failed() -> None:
    """Ten full packs and one empty container: how far empty ones differ nobody knows yet."""
    lot = lot_of_ten(600)
    run = packing.run_of(lot)

    packing.weighed(run, "10", Reading.EMPTY, by=make.user())
    packing.weighed(run, "68.8 " * 10, Reading.FULL, by=make.user())

    check = check_of(run)
    assert (check.is_complete, bool(check.binding.problems)) == (False, True)
    assert said_of_the_fill(lot) == []
    packing.weighed(run, "10", Reading.EMPTY, by=make.user())
    assert len(said_of_the_fill(lot)) == 1
