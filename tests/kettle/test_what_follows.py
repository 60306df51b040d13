"""What follows a batch into its bulk: composition, dates and organic share, rework and splits."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from tests import make
from tests.goods_in import build as goods
from tests.kettle import build
from tests.kettle.test_change_targets import described
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.formulas.models import Version
from workshop.goods_in.lot_composition import composition_of
from workshop.kettle import services
from workshop.kettle.models import Batch
from workshop.ledger.lot_tree import ancestors
from workshop.ledger.models import ItemKind, Lot
from workshop.rules.ingredients.organic_share import organic_share

pytestmark = pytest.mark.django_db


def balm(**values: Any) -> Version:
    return build.version([(described("Oil"), "80"), (described("Wax"), "20")], **values)


def shares(lot: Lot) -> dict[str, Fraction]:
    return {part.inci_name: share for part, share in composition_of(lot).items()}


def work_in(batch: Batch, lot: Lot, grams: str) -> None:
    services.add_unplanned(
        batch,
        lot.item,
        lot,
        Decimal(grams),
        reason="leftover",
        scale=batch.scale,
        by=make.user(Role.MAKER),
        at=make.NOON,
        token=new_token(),
    )


def test_every_bulk_of_a_split_pour_has_the_same_composition_date_and_tree() -> None:
    version, scented = balm(), make.item(ItemKind.BULK)
    batch = build.batch(version)
    early = make.day(96)
    used = [
        make.lot(line.item, best_before=early if line.order == 1 else None)
        for line in batch.lines.all()
    ]
    for line, lot in zip(batch.lines.all(), used, strict=True):
        build.weigh(line, lot=lot)

    lots = services.pour(
        batch,
        [(None, Decimal(600)), (scented, Decimal(380))],
        by=build.owner(),
        at=make.NOON,
        token=new_token(),
    )

    assert [lot.item for lot in lots] == [version.formula.item, scented]
    for lot in lots:
        assert shares(lot) == {"Oil INCI": Fraction(4, 5), "Wax INCI": Fraction(1, 5)}
        assert lot.best_before == early
        assert set(ancestors([lot.pk])) >= {one.pk for one in used}


def test_rework_brings_its_own_composition_date_and_tree_into_the_new_bulk() -> None:
    # By hand: 1000 g at 80 : 20 and 100 g at 50 : 50 are 850 : 250 of 1100.
    version = balm(rework_limit=Decimal(10), shelf_life_months=24)
    oil, wax = (line.item for line in version.lines.all())
    old = build.batch(build.version([(oil, "50"), (wax, "50")]), target_g="200")
    for line in old.lines.all():
        build.weigh(line, lot=make.lot(line.item, best_before=make.day(68)))
    leftover = build.pour(old, "190")[0]
    build.release(old)
    leftover.refresh_from_db()
    batch = build.filled(version)

    work_in(batch, leftover, "100")
    lot = build.pour(batch, "1050")[0]

    assert shares(lot) == {"Oil INCI": Fraction(17, 22), "Wax INCI": Fraction(5, 22)}
    assert lot.best_before == leftover.best_before == make.day(68)
    assert leftover.pk in ancestors([lot.pk])


def test_rework_that_is_not_organic_lowers_the_organic_share() -> None:
    # By hand: 1000 g of organic oil and 100 g of what is not organic are 10 / 11.
    oil = goods.material("Organic oil")
    version = build.version([(oil, "100")], rework_limit=Decimal(10))
    leftover_of = build.filled(build.version([(described("Resin"), "100")]))
    leftover = build.pour(leftover_of, "900")[0]
    build.release(leftover_of, by=build.owner())
    leftover.refresh_from_db()
    batch = build.batch(version)
    build.weigh(batch.lines.get(), lot=goods.lot(oil, organic_until=make.day(341)))

    work_in(batch, leftover, "100")
    lot = build.pour(batch, "1050")[0]

    assert organic_share(composition_of(lot)) == Fraction(10, 11)
