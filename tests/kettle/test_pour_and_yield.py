"""The pour: measured yield, loss, dates."""

from decimal import Decimal

import pytest

from tests import make
from tests.kettle import build
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.kettle import services
from workshop.kettle.models import Batch, BatchState
from workshop.ledger import services as ledger
from workshop.ledger.lot_tree import ancestors
from workshop.ledger.models import ItemKind, Lot, Status

pytestmark = pytest.mark.django_db


def test_pour_puts_the_measured_yield_out_in_quarantine() -> None:
    batch = build.filled()

    (lot,) = build.pour(batch, "970")

    assert (lot.item, lot.status) == (batch.version.formula.item, Status.QUARANTINE)
    assert ledger.on_hand(lot) == Decimal(970)
    assert Batch.objects.get(pk=batch.pk).state == BatchState.POURED


def test_yield_and_loss_account_for_every_gram() -> None:
    batch = build.poured(grams="970")

    weighed = Batch.objects.with_weights().get(pk=batch.pk)

    assert (weighed.taken_g, weighed.put_out_g) == (Decimal(1000), Decimal(970))


def test_bulk_descends_from_every_lot_weighed_in() -> None:
    batch = build.filled()
    consumed = set(batch.operation.postings.values_list("lot", flat=True))

    (lot,) = build.pour(batch)

    assert ancestors([lot.pk]) == consumed | {lot.pk}


def test_best_before_is_made_plus_shelf_life() -> None:
    (lot,) = build.pour(build.filled(build.version(shelf_life_months=18)))

    assert lot.best_before == make.day(months=18)


def test_best_before_is_never_later_than_that_of_a_lot_that_went_in() -> None:
    batch = build.batch(build.version(shelf_life_months=18))
    first, second = batch.lines.all()
    build.weigh(first, lot=make.lot(first.item, best_before=make.day(110)))
    build.weigh(second, lot=make.lot(second.item, best_before=make.day(768)))

    (lot,) = build.pour(batch)

    assert lot.best_before == make.day(110)


def test_lot_whose_weighing_was_taken_back_does_not_shorten_the_date() -> None:
    batch = build.filled(build.version(shelf_life_months=18))
    line = batch.lines.all()[0]
    wrong = build.weigh(line, "1", lot=make.lot(line.item, best_before=make.day(6)))
    services.undo_reading(
        wrong, by=build.owner(), at=make.NOON, reason="wrong lot", token=new_token()
    )

    (lot,) = build.pour(batch)

    assert lot.best_before == make.day(months=18)


def test_pour_sent_again_answers_with_the_same_lots() -> None:
    batch, token = build.filled(), new_token()

    first = build.pour(batch, token=token)
    second = build.pour(batch, token=token)

    assert first == second


def test_melt_is_split_into_two_bulks() -> None:
    batch = build.filled()
    unscented = make.item(ItemKind.BULK)

    lots = services.pour(
        batch,
        [(None, Decimal(500)), (unscented, Decimal(460))],
        by=make.user(Role.MAKER),
        at=make.NOON,
        token=new_token(),
    )

    assert [(lot.item, ledger.on_hand(lot)) for lot in lots] == [
        (batch.version.formula.item, Decimal(500)),
        (unscented, Decimal(460)),
    ]


def test_more_out_than_in_is_refused_and_writes_nothing() -> None:
    batch = build.filled()

    with pytest.raises(ActionRefused) as refused:
        build.pour(batch, "1000.1")

    assert refused.value.message == (
        "1\u202f000.1\u202fg cannot come out of 1\u202f000.0\u202fg. Weigh the yield again "
        "without its vessel, or look for a weighing that is missing."
    )
    assert not batch.operation.lots.exists()


@pytest.mark.parametrize("grams", ["0", "-5"])
def test_yield_of_nothing_is_refused(grams: str) -> None:
    with pytest.raises(ActionRefused, match="the yield is above zero"):
        build.pour(build.filled(), grams)


def test_pour_of_an_empty_kettle_is_refused() -> None:
    with pytest.raises(ActionRefused, match="Nothing has been weighed into this batch yet"):
        build.pour(build.batch())


def test_second_pour_is_refused() -> None:
    batch = build.poured()

    with pytest.raises(ActionRefused, match="is poured already"):
        build.pour(batch)


def test_pour_into_a_material_is_refused() -> None:
    batch, wax = build.filled(), make.item(name="Beeswax")

    with pytest.raises(ActionRefused, match="Beeswax is not a bulk"):
        services.pour(
            batch,
            [(wax, Decimal(5))],
            by=make.user(Role.MAKER),
            at=make.NOON,
            token=new_token(),
        )


def test_line_outside_its_tolerance_needs_a_word() -> None:
    batch = build.batch()
    first, second = batch.lines.all()
    build.weigh(first)
    build.weigh(second, "510.1")

    with pytest.raises(ActionRefused) as refused:
        build.pour(batch)

    assert refused.value.field == "note"
    assert refused.value.message == (
        f"Outside its tolerance: {second.item}. Weigh on, or say in the note why it is poured so."
    )


def test_word_given_at_the_pour_stays_in_the_record() -> None:
    batch = build.batch()
    build.weigh(batch.lines.all()[0])

    build.pour(batch, "400", note="second oil ran out")

    assert batch.checks.get().note == "At the pour: second oil ran out"


def test_corrected_yield_stays_beside_the_wrong_one() -> None:
    batch = build.poured(grams="790")
    (wrong,) = batch.operation.postings.filter(side="out")

    right = services.correct_yield(
        wrong,
        Decimal(970),
        reason="digits swapped",
        by=build.owner(),
        at=make.NOON,
        token=new_token(),
    )

    assert (right.lot, ledger.on_hand(right.lot)) == (wrong.lot, Decimal(970))
    assert batch.operation.postings.filter(side="out").count() == 3


def test_corrected_yield_above_what_went_in_is_refused_and_leaves_the_old_one() -> None:
    batch = build.poured(grams="970")
    (posting,) = batch.operation.postings.filter(side="out")

    with pytest.raises(ActionRefused, match="cannot come out of"):
        services.correct_yield(
            posting,
            Decimal(1001),
            reason="slip",
            by=build.owner(),
            at=make.NOON,
            token=new_token(),
        )

    assert ledger.on_hand(Lot.objects.get(pk=posting.lot_id)) == Decimal(970)
