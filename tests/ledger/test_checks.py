"""The proof of the book finds what was tampered with, past every guard."""

from collections.abc import Iterator
from contextlib import contextmanager
from decimal import Decimal
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests import make
from workshop import __version__
from workshop.core.database import triggers
from workshop.ledger import services
from workshop.ledger.models import Lot, Operation, OperationKind, Posting, Seal, Side
from workshop.ledger.proof.checks import (
    check_guards,
    check_loops,
    check_one_way,
    check_origins,
    check_reversals,
    check_signs,
    check_statuses,
    check_sums,
    check_yields,
    run_checks,
)
from workshop.ledger.proof.seals import check_seals

pytestmark = pytest.mark.django_db


def sql(statement: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement)


@contextmanager
def unguarded() -> Iterator[None]:
    """Somebody with the database's own password has taken its guards away."""
    triggers.remove(connection)
    yield


def closed_batch() -> tuple[Operation, Lot, Lot]:
    """100 g of oil became 95 g of melt."""
    oil, batch = make.lot(on_hand=1000), make.operation(OperationKind.BATCH)
    by = batch.opened_by
    services.post(batch, oil, Side.IN, Decimal(100), by=by, at=make.NOON)
    melt = make.bulk_of(batch)
    services.post(batch, melt, Side.OUT, Decimal(95), by=by, at=make.NOON)
    return services.close_operation(batch, by=by, at=make.NOON), oil, melt


def test_sound_book_has_no_finding() -> None:
    closed_batch()

    assert [finding.problems for finding in run_checks()] == [[]] * 12


def test_book_of_more_than_a_thousand_lots_is_proved() -> None:
    """SQLite takes expressions of a thousand parts at most."""
    batch = make.operation(OperationKind.BATCH)
    receipt, oil = make.operation(), make.item()
    many = Lot.objects.bulk_create(
        Lot(item=oil, code=f"M{number:06}", made_on=make.DAY, origin=receipt)
        for number in range(1_100)
    )
    amounts = {receipt: (Side.OUT, Decimal(1)), batch: (Side.IN, Decimal(-1))}
    Posting.objects.bulk_create(
        Posting(
            operation=operation,
            lot=lot,
            side=side,
            quantity=quantity,
            at=make.NOON,
            by=batch.opened_by,
            token=f"{side} {lot.code}",
        )
        for operation, (side, quantity) in amounts.items()
        for lot in many
    )
    for operation in amounts:
        services.close_operation(operation, by=batch.opened_by, at=make.NOON)

    assert check_seals().problems == []


def test_sound_book_is_proved_with_as_many_questions_when_it_has_grown() -> None:
    """Only a record that differs is asked for by itself."""
    closed_batch()
    few = questions_of_the_proof()
    for _ in range(4):
        closed_batch()

    assert questions_of_the_proof() == few


def questions_of_the_proof() -> int:
    with CaptureQueriesContext(connection) as asked:
        assert check_seals().is_sound
    return len(asked)


def test_proof_goes_on_behind_a_gap_in_the_numbers_of_the_seals() -> None:
    closed_batch()
    with unguarded():
        Seal.objects.filter(number=2).update(number=10**12)

    [sentence] = check_seals().problems
    assert sentence.startswith(f"Seal {10**12} of")
    assert sentence.endswith("does not follow the seal before it.")


def test_missing_guard_is_found() -> None:
    with unguarded():
        finding = check_guards()

    assert len(finding.problems) + finding.more == len(triggers.registry())


def test_dispatch_that_makes_a_lot_is_found() -> None:
    """The family tree would take it for a batch."""
    sent, other = make.lot(on_hand=10), make.lot(on_hand=10)
    dispatch = make.operation(OperationKind.DISPATCH)
    with unguarded():
        for lot, side in ((sent, Side.IN), (other, Side.OUT)):
            services.post(dispatch, lot, side, Decimal(1), by=dispatch.opened_by, at=make.NOON)

    assert check_one_way().problems == [f"{dispatch} both took lots and put some out."]


def test_changed_grams_break_the_seal() -> None:
    batch, _, _ = closed_batch()
    with unguarded():
        sql("UPDATE ledger_posting SET quantity = 94000 WHERE quantity = 95000")

    assert check_seals().problems == [
        f"Seal 2 of {batch}: posting of {batch} is no longer as sealed: quantity."
    ]


def test_removed_posting_breaks_the_seal() -> None:
    batch, _, _ = closed_batch()
    with unguarded():
        sql("DELETE FROM ledger_posting WHERE quantity = 95000")

    assert check_seals().problems == [f"Seal 2 of {batch}: posting of {batch} is gone."]
    assert "was used but never put out" not in str(check_origins().problems)


def test_changed_record_breaks_its_own_seal() -> None:
    closed_batch()
    with unguarded():
        sql("UPDATE ledger_seal SET record = '{}' WHERE number = 1")

    assert check_seals().problems[0].endswith("does not fit its own record.")


def test_seal_taken_out_breaks_the_chain() -> None:
    closed_batch()
    with unguarded():
        sql("DELETE FROM ledger_seal WHERE number = 1")

    sentences = check_seals().problems
    assert sentences[0].endswith("does not follow the seal before it.")
    assert f"R-{make.MONTH}-01 is closed but not sealed." in sentences


def test_sealed_amendment_keeps_what_was_sealed_before() -> None:
    batch, oil, _ = closed_batch()
    owner = make.user()
    services.amend_operation(batch, by=owner, at=make.NOON, reason="one line was forgotten")
    services.post(batch, oil, Side.IN, Decimal(1), by=owner, at=make.NOON)
    assert check_seals().is_sound
    services.close_operation(batch, by=owner, at=make.NOON)

    assert check_seals().is_sound
    assert Seal.objects.count() == 3


def test_status_that_nobody_gave_is_found() -> None:
    lot = make.lot()
    with unguarded():
        Lot.objects.filter(pk=lot.pk).update(status="rejected")

    assert check_statuses().problems == [f"Lot {lot} is rejected without anybody's word for it."]


def test_batch_that_makes_more_than_it_took_is_found() -> None:
    batch = make.operation(OperationKind.BATCH)
    melt = make.bulk_of(batch)
    services.post(batch, melt, Side.OUT, Decimal(5), by=batch.opened_by, at=make.NOON)

    assert check_yields().problems == [f"{batch.reference} put out 5.000 g more than went in."]


def test_batch_that_puts_out_just_what_it_took_is_sound() -> None:
    oil, batch = make.lot(), make.operation(OperationKind.BATCH)
    by, melt = batch.opened_by, make.bulk_of(batch)
    services.post(batch, oil, Side.IN, Decimal("5.000"), by=by, at=make.NOON)
    services.post(batch, melt, Side.OUT, Decimal("5.000"), by=by, at=make.NOON)
    assert check_yields().is_sound

    services.post(batch, melt, Side.OUT, Decimal("0.001"), by=by, at=make.NOON)

    assert check_yields().problems == [f"{batch} put out 0.001 g more than went in."]


def test_lot_without_an_origin_is_found() -> None:
    batch, lot = make.operation(OperationKind.BATCH), make.lot(on_hand=0)
    services.post(batch, lot, Side.IN, Decimal(5), by=batch.opened_by, at=make.NOON)

    assert check_origins().problems == [f"Lot {lot} was used but never put out by its origin."]


def test_loop_is_found() -> None:
    batch, _, melt = closed_batch()
    with unguarded():
        sql("UPDATE ledger_operation SET closed_at = NULL, closed_by_id = NULL")
        Posting.objects.create(
            operation=batch,
            lot=melt,
            side=Side.IN,
            quantity=Decimal(-1),
            at=make.NOON,
            by=batch.opened_by,
            token="loop",
        )

    assert check_loops().problems == [
        f"Lot {melt.code} is made from itself, or from a lot that is."
    ]


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE ledger_posting SET quantity = quantity - 1 WHERE corrects_id > 0",
        "UPDATE ledger_posting SET side = 'out', quantity = -quantity WHERE corrects_id > 0",
    ],
)
def test_reversal_that_does_not_fit_is_found(change: str) -> None:
    batch, oil = make.operation(OperationKind.BATCH), make.lot()
    taken = services.post(batch, oil, Side.IN, Decimal(5), by=batch.opened_by, at=make.NOON)
    services.reverse(taken, by=batch.opened_by, at=make.NOON, reason="wrong")
    with unguarded():
        sql(change)

    assert len(check_reversals().problems) == 1


def test_signs_and_sums_are_counted() -> None:
    closed_batch()

    assert (check_signs().looked_at, check_sums().looked_at) == (3, 2)


def test_command_prints_a_figure_for_each_check() -> None:
    closed_batch()
    said = StringIO()

    call_command("check_ledger", stdout=said)

    lines = said.getvalue().splitlines()
    assert len(lines) == 21
    assert lines[0] == f"Tarebook {__version__}"
    assert " ".join(lines[2].split()) == "3 every posting has the sign of its side: sound"
    assert lines[-2] == "No finding: the book is sound."


def test_command_fails_when_something_is_wrong() -> None:
    lot = make.lot()
    with unguarded():
        Lot.objects.filter(pk=lot.pk).update(status="rejected")
    triggers.install(connection)

    with pytest.raises(CommandError, match="1 finding"):
        call_command("check_ledger", stdout=StringIO())
