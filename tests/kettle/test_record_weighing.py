"""Readings into a batch: recorded once, refused with a sentence, taken back in the open."""

from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal

import pytest
from django.db import connection

from tests import make
from tests.kettle import build
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.kettle import services
from workshop.kettle.models import Batch, BatchLine, BatchState, Weighing
from workshop.kettle.record.record_as_shown import record_of
from workshop.ledger import services as ledger
from workshop.ledger.models import ItemKind, Lot, Posting, Status

pytestmark = pytest.mark.django_db


def taken(line: BatchLine) -> Decimal:
    return BatchLine.objects.with_taken().get(pk=line.pk).taken_g


def first_line(batch: Batch | None = None) -> BatchLine:
    return (batch or build.batch()).lines.all()[0]


def test_weighing_takes_its_grams_out_of_the_lot() -> None:
    line = first_line()
    lot = make.lot(line.item, on_hand=600)

    weighing = build.weigh(line, "499.9", lot=lot, note="a little under")

    assert (weighing.posting.moved, weighing.note) == (Decimal("499.9"), "a little under")
    assert ledger.on_hand(lot) == Decimal("100.1")


def test_first_weighing_sets_the_batch_under_way() -> None:
    line = first_line()

    build.weigh(line, "1")

    assert Batch.objects.get(pk=line.batch_id).state == BatchState.UNDER_WAY


def test_weighing_sent_again_is_recorded_once() -> None:
    line, token = first_line(), new_token()
    lot = make.lot(line.item)

    first = build.weigh(line, "5", lot=lot, token=token)
    second = build.weigh(line, "5", lot=lot, token=token)

    assert first == second
    assert taken(line) == Decimal(5)


@pytest.mark.django_db(transaction=True)
def test_weighing_sent_by_eight_hands_at_once_is_recorded_once() -> None:
    batch, token, by = build.batch(), new_token(), make.user(Role.MAKER)
    line = first_line(batch)
    lot = make.lot(line.item)

    def send(_: int) -> int:
        try:
            return build.weigh(line, "5", lot=lot, by=by, token=token).pk
        finally:
            connection.close()

    with ThreadPoolExecutor(8) as hands:
        answers = set(hands.map(send, range(8)))

    assert answers == {Weighing.objects.get().pk}


def test_weighing_sent_again_answers_even_after_the_batch_is_closed() -> None:
    token = new_token()
    batch = build.batch()
    line = first_line(batch)
    lot = make.lot(line.item)
    first = build.weigh(line, "5", lot=lot, token=token)
    services.abandon_batch(batch, by=build.owner(), at=make.NOON, reason="the stove went out")

    assert build.weigh(line, "5", lot=lot, token=token) == first


def test_token_of_another_reading_is_refused() -> None:
    line, token = first_line(), new_token()
    lot = make.lot(line.item)
    build.weigh(line, "5", lot=lot, token=token)

    with pytest.raises(ActionRefused, match="already recorded with other figures"):
        build.weigh(line, "6", lot=lot, token=token)


def test_line_is_split_over_two_lots() -> None:
    line = first_line()

    build.weigh(line, "200")
    build.weigh(line, "300")

    assert taken(line) == Decimal(500)


def test_more_than_the_book_holds_is_recorded_and_flagged() -> None:
    line = first_line()
    lot = make.lot(line.item, on_hand=3)

    build.weigh(line, "5", lot=lot)

    assert list(Lot.objects.below_zero()) == [lot]


@pytest.mark.parametrize(
    ("grams", "sentence"),
    [
        ("0", "A reading is above zero."),
        ("-1", "A reading is above zero."),
        ("NaN", "A reading is above zero."),
        (
            "5.05",
            "The Scale 1 shows steps of 0.1 g, so it cannot have shown 5.05 g. "
            "Read it again, or choose the scale you used.",
        ),
        (
            "6000.1",
            "The Scale 1 takes at most 6\u202f000.0\u202fg. "
            "Weigh it in several goes, and record each.",
        ),
    ],
)
def test_reading_the_scale_cannot_have_shown_is_refused(grams: str, sentence: str) -> None:
    line = first_line()

    with pytest.raises(ActionRefused) as refused:
        build.weigh(line, grams)

    assert (refused.value.field, refused.value.message) == ("reading_g", sentence)
    assert not Weighing.objects.exists()


def test_lot_of_another_item_is_refused_with_a_way_on() -> None:
    line = first_line()
    wax = make.item(name="Beeswax")
    lot = make.lot(wax)

    with pytest.raises(ActionRefused) as refused:
        build.weigh(line, "5", lot=lot)

    assert refused.value.message == (
        f"Lot {lot} is Beeswax, but this line is {line.item}. Choose a lot of {line.item}, "
        "or add Beeswax as an unplanned addition."
    )
    assert not Posting.objects.filter(operation=line.batch.operation).exists()


def test_allowed_substitute_stands_in() -> None:
    stand_in = make.item()
    version = build.version(approved=False)
    version.lines.all()[0].substitutes.add(stand_in)
    version.status, version.approved_at, version.approved_by = "approved", make.NOON, make.user()
    version.save()
    line = first_line(build.batch(version))
    lot = make.lot(stand_in)

    assert build.weigh(line, "5", lot=lot).posting.lot == lot
    assert record_of(line.batch).deviations[-1] == (
        f"Substitute: {stand_in}, lot {lot}, in place of {line.item}"
    )


@pytest.mark.parametrize(
    ("status", "words"),
    [
        (Status.QUARANTINE, "in quarantine"),
        (Status.ON_HOLD, "on hold"),
        (Status.REJECTED, "rejected"),
    ],
)
def test_lot_that_is_not_released_is_refused(status: Status, words: str) -> None:
    line = first_line()
    lot = make.lot(line.item, status=Status.QUARANTINE)
    if status != Status.QUARANTINE:
        ledger.set_lot_status(lot, status, by=build.owner(), at=make.NOON, reason="smells")
        lot.refresh_from_db()

    with pytest.raises(ActionRefused) as refused:
        build.weigh(line, "5", lot=lot)

    assert refused.value.message == (
        f"Lot {lot} is {words}. Choose another lot, or ask the owner to release it."
    )


def test_lot_past_its_date_on_the_day_of_the_reading_is_refused() -> None:
    line = first_line()
    made_on, yesterday = make.day(months=-12), make.day(-1)
    lot = make.lot(line.item, made_on=made_on, best_before=yesterday)

    with pytest.raises(ActionRefused, match=f"Lot {lot} was best before {make.shown(-1)}"):
        build.weigh(line, "5", lot=lot)


def test_lot_is_good_on_its_last_day() -> None:
    line = first_line()

    weighing = build.weigh(line, "5", lot=make.lot(line.item, best_before=make.DAY))

    assert weighing.posting.moved == Decimal(5)


def test_undone_reading_stays_readable_with_its_reason() -> None:
    line = first_line()
    lot = make.lot(line.item)
    weighing = build.weigh(line, "5", lot=lot)

    reversal = services.undo_reading(
        weighing, by=build.owner(), at=make.NOON, reason="wrong drum", token=new_token()
    )

    assert (reversal.corrects, reversal.reason) == (weighing.posting, "wrong drum")
    assert (taken(line), ledger.on_hand(lot)) == (Decimal(0), Decimal(1000))
    assert Weighing.objects.get() == weighing


def test_undo_sent_again_takes_back_once() -> None:
    weighing, token = build.weigh(first_line(), "5"), new_token()
    by = build.owner()

    first = services.undo_reading(weighing, by=by, at=make.NOON, reason="slip", token=token)
    second = services.undo_reading(weighing, by=by, at=make.NOON, reason="slip", token=token)

    assert first == second


def test_undo_needs_a_reason() -> None:
    weighing = build.weigh(first_line(), "5")

    with pytest.raises(ActionRefused) as refused:
        services.undo_reading(
            weighing, by=build.owner(), at=make.NOON, reason=" ", token=new_token()
        )

    assert refused.value.field == "reason"
    assert Weighing.objects.effective().get() == weighing


def test_undo_with_the_token_of_another_entry_is_refused() -> None:
    token = new_token()
    line = first_line()
    build.weigh(line, "5", token=token)
    weighing = build.weigh(line, "6")

    with pytest.raises(ActionRefused, match="already sent with other figures"):
        services.undo_reading(weighing, by=build.owner(), at=make.NOON, reason="slip", token=token)


def test_weighing_after_the_pour_needs_a_note() -> None:
    line = first_line(build.poured())

    with pytest.raises(ActionRefused) as refused:
        build.weigh(line, "1")

    assert refused.value.field == "note"


def test_weighing_after_the_pour_moves_the_date_of_the_bulk() -> None:
    batch = build.poured()
    line = first_line(batch)
    early = make.day(67)

    build.weigh(line, "1", lot=make.lot(line.item, best_before=early), note="was left out")

    assert batch.operation.lots.get().best_before == early


def test_weighing_into_a_closed_batch_is_refused() -> None:
    batch = build.poured()
    services.close_batch(batch, by=build.owner(), at=make.NOON)

    with pytest.raises(ActionRefused, match=r"is closed\. Only the owner can amend it"):
        build.weigh(first_line(batch), "1", note="late")


def unplanned(batch: Batch, lot: Lot, grams: str = "5", reason: str = "too hard") -> Weighing:
    return services.add_unplanned(
        batch,
        lot.item,
        lot,
        Decimal(grams),
        reason=reason,
        scale=batch.scale,
        by=make.user(Role.MAKER),
        at=make.NOON,
        token=new_token(),
    )


def test_unplanned_addition_becomes_a_line_with_its_reason() -> None:
    batch = build.batch()

    weighing = unplanned(batch, make.lot())

    line = weighing.line
    assert (line.order, line.target_g, line.reason) == (3, Decimal(0), "too hard")
    assert not line.is_planned


def test_unplanned_addition_without_a_reason_is_refused() -> None:
    batch = build.batch()

    with pytest.raises(ActionRefused) as refused:
        unplanned(batch, make.lot(), reason="")

    assert refused.value.field == "reason"
    assert batch.lines.count() == 2


def test_refused_unplanned_addition_leaves_no_line() -> None:
    batch = build.batch()

    with pytest.raises(ActionRefused, match="in quarantine"):
        unplanned(batch, make.lot(status=Status.QUARANTINE))

    assert batch.lines.count() == 2


def test_rework_goes_in_up_to_its_limit() -> None:
    batch = build.batch(build.version(rework_limit=Decimal(10)))
    leftover = make.lot(make.item(ItemKind.BULK))

    unplanned(batch, leftover, "60")
    weighing = unplanned(batch, leftover, "40")

    assert weighing.posting.lot == leftover


def test_rework_beyond_its_limit_is_refused_with_the_figures() -> None:
    version = build.version(rework_limit=Decimal(10))
    batch = build.batch(version)
    leftover = make.lot(make.item(ItemKind.BULK))
    unplanned(batch, leftover, "60")

    with pytest.raises(ActionRefused) as refused:
        unplanned(batch, leftover, "40.1")

    assert refused.value.message == (
        f"{version} takes at most 10 % of rework, here 100.0\u202fg; with this it would be "
        "100.1\u202fg. Work in less."
    )


def test_bulk_that_the_formula_calls_for_is_no_rework() -> None:
    infusion = make.item(ItemKind.BULK)
    version = build.version([(infusion, "60"), (make.item(), "40")])

    weighing = build.weigh(first_line(build.batch(version)))

    assert weighing.posting.moved == Decimal(600)


def test_more_of_a_bulk_that_the_formula_calls_for_is_no_rework_either() -> None:
    infusion = make.item(ItemKind.BULK)
    batch = build.batch(build.version([(infusion, "60"), (make.item(), "40")]))

    weighing = unplanned(batch, make.lot(infusion), "5")

    assert weighing.posting.moved == Decimal(5)
