"""Retained samples of a lot are not sent, and not proposed."""

from decimal import Decimal

import pytest
from django.http import QueryDict

from tests import make
from tests.dispatch import build
from workshop.core.saving.new_tokens import new_token
from workshop.dispatch.lot_proposals import on_the_shelf, with_proposal
from workshop.dispatch.services import RefusedLine
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot
from workshop.packing.services.retained_samples import retain

pytestmark = pytest.mark.django_db


def lot_with_samples(on_hand: int, kept: int) -> Lot:
    lot = build.finished_lot(on_hand)
    retain(
        lot,
        Decimal(kept),
        place="cupboard 2",
        by=make.user(),
        at=make.NOON,
        token=new_token(),
    )
    return lot


def test_dispatch_leaves_the_samples() -> None:
    lot, shop = lot_with_samples(40, 2), build.customer()

    with pytest.raises(RefusedLine) as refused:
        build.sent((lot, 39), to=shop)
    build.sent((lot, 38), to=shop)

    assert refused.value.message == f"Of lot {lot} 38 are for sale; 2 are retained as samples."
    assert refused.value.field == "units"
    assert ledger.on_hand(lot) == 2


def test_only_what_is_for_sale_is_proposed() -> None:
    lot = lot_with_samples(40, 2)

    data, short = with_proposal(
        QueryDict(mutable=True), product=lot.item, wanted=Decimal(40), on=make.DAY
    )

    assert (data["rows-0-lot"], data["rows-0-units"]) == (str(lot), "38")
    assert short == 2


def test_lot_of_which_only_samples_are_left_is_off_the_shelf() -> None:
    lot_with_samples(3, 3)
    free = build.finished_lot(5, name="Mint foot salve")

    assert on_the_shelf(make.DAY) == [free]
