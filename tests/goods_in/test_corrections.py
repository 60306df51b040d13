"""A receipt that was entered wrongly is taken back or corrected; what it said stays to be read."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from tests import make
from tests.goods_in import build
from workshop.audit.all_checks import prove
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.goods_in.models import ReceiptLine
from workshop.goods_in.services import corrections
from workshop.ledger import services as ledger
from workshop.ledger.models import Correction, Lot, OperationKind, Posting, Side, Status
from workshop.ledger.services import InTheWay

pytestmark = pytest.mark.django_db

NOW = make.NOON
WHY = "Entered with the wrong order"


def take_back(*lines: ReceiptLine, **values: Any) -> None:
    people: dict[str, Any] = {"by": make.user(), "at": NOW, "reason": WHY, "token": new_token()}
    corrections.take_back(lines[0].receipt, lines, **people | values)


def correct(line: ReceiptLine, **values: Any) -> ReceiptLine:
    facts = {"supplier_lot": line.supplier_lot, "makers_expiry": line.makers_expiry}
    people = {"by": make.user(), "at": NOW, "reason": WHY, "token": new_token()}
    return corrections.correct_line(line, **{**facts, **people, **values})


def now(line: ReceiptLine) -> ReceiptLine:
    return ReceiptLine.objects.with_lots().get(pk=line.pk)


def is_sound() -> bool:
    return all(finding.is_sound for finding in prove())


def test_receipt_taken_back_whole_leaves_nothing_on_hand_and_nothing_to_use() -> None:
    item = build.material()
    receipt = build.receipt(build.arrived(item), build.arrived(item))
    first, second = receipt.lines.all()
    ledger.set_lot_status(first.lot, Status.RELEASED, by=make.user(), at=NOW)

    take_back(first, second)

    assert [ledger.on_hand(lot) for lot in Lot.objects.all()] == [0, 0]
    assert {lot.status for lot in Lot.objects.all()} == {Status.REJECTED}
    assert not item.lots.available(on=make.DAY).exists()
    amended = [now(line).taken_back for line in (first, second)]
    assert [one.reason for one in amended if one] == [WHY, WHY]
    assert receipt.operation.seals.count() == 2
    assert is_sound()


def test_one_lot_of_a_receipt_is_taken_back_and_the_others_stay() -> None:
    item = build.material()
    receipt = build.receipt(build.arrived(item), build.arrived(item, grams=800))
    wrong, right = receipt.lines.all()

    take_back(wrong)

    assert [ledger.on_hand(line.lot) for line in (wrong, right)] == [0, 800]
    assert now(right).taken_back is None
    assert now(right).lot.status == Status.QUARANTINE
    assert type(receipt).objects.with_counts().get().lot_count == 1


def test_lot_that_went_into_a_kettle_says_what_stands_in_the_way() -> None:
    line = build.line()
    batch = make.operation(OperationKind.BATCH)
    ledger.post(batch, line.lot, Side.IN, Decimal(5), by=make.user(), at=NOW)
    before = Posting.objects.count()

    with pytest.raises(InTheWay) as refused:
        take_back(line)

    assert refused.value.references == [batch.reference]
    assert f"lot {line.lot} is in {batch.reference}" in refused.value.message
    assert Posting.objects.count() == before
    assert now(line).receipt.operation.is_closed


def test_lot_whose_weighing_was_taken_back_can_be_taken_back_too() -> None:
    line, by = build.line(), make.user()
    batch = make.operation(OperationKind.BATCH)
    weighed = ledger.post(batch, line.lot, Side.IN, Decimal(5), by=by, at=NOW)
    ledger.reverse(weighed, by=by, at=NOW, reason="Wrong drum")

    take_back(line)

    assert ledger.on_hand(line.lot) == 0


@pytest.mark.parametrize("role", [Role.MAKER, Role.PACKER])
def test_only_an_owner_takes_back_or_corrects_a_closed_receipt(role: Role) -> None:
    line = build.line()
    for act in (take_back, correct):
        with pytest.raises(ActionRefused, match="Only an owner"):
            act(line, by=make.user(role))
    assert ledger.on_hand(line.lot) == 5000


def test_taking_back_needs_a_reason() -> None:
    line = build.line()
    with pytest.raises(ActionRefused) as refused:
        take_back(line, reason="  ")
    assert refused.value.field == "reason"
    assert now(line).taken_back is None


def test_same_form_again_takes_back_once_and_another_one_is_told() -> None:
    line, token, by = build.line(), new_token(), make.user()
    take_back(line, token=token, by=by)
    take_back(line, token=token, by=by)
    assert Posting.objects.count() == 2
    with pytest.raises(ActionRefused, match="taken back before"):
        take_back(line)


def test_supplier_lot_taken_back_may_come_in_again_without_a_question() -> None:
    """Somebody takes a wrong entry back in order to enter it rightly."""
    item, of = build.material(), build.supplier()
    take_back(build.line(item, of=of, supplier_lot="EX-77"))
    assert build.line(item, of=of, supplier_lot="EX-77").pk


def test_supplier_lot_is_corrected_and_the_old_one_stays_to_be_read() -> None:
    line = build.line(supplier_lot="EX-7I")

    correct(line, supplier_lot="EX-71")

    assert now(line).supplier_lot == "EX-71"
    kept = Correction.objects.get()
    assert (kept.fact, kept.was, kept.now, kept.lot) == (
        "supplier lot",
        "EX-7I",
        "EX-71",
        line.lot,
    )
    assert kept.amendment.reason == WHY
    assert line.receipt.operation.seals.count() == 2
    assert is_sound()


def test_corrected_expiry_moves_the_date_of_the_lot_with_a_row_that_says_why() -> None:
    line = build.line(makers_expiry=make.DAY + timedelta(days=300))
    sooner = make.DAY + timedelta(days=30)

    correct(line, makers_expiry=sooner)

    assert now(line).makers_expiry == now(line).lot.best_before == sooner
    assert line.lot.date_changes.get().reason == WHY
    assert is_sound()


def test_expiry_left_out_gives_the_lot_the_shelf_life_of_its_material() -> None:
    item = build.material(shelf_life_months=12)
    line = build.line(item, makers_expiry=make.DAY + timedelta(days=30))

    correct(line, makers_expiry=None)

    assert now(line).lot.best_before == build.line(item).lot.best_before


def test_expiry_before_the_day_of_receipt_is_refused_by_its_field() -> None:
    line = build.line()
    with pytest.raises(ActionRefused) as refused:
        correct(line, makers_expiry=make.DAY - timedelta(days=1))
    assert refused.value.field == "makers_expiry"
    assert not Correction.objects.exists()


def test_correction_that_changes_nothing_is_refused_and_opens_nothing() -> None:
    line = build.line()
    with pytest.raises(ActionRefused, match="Nothing is different"):
        correct(line)
    assert line.receipt.operation.amendments.count() == 0


def test_delivery_note_is_corrected() -> None:
    receipt = build.receipt(build.arrived(build.material()), delivery_note="EX-1")
    values: dict[str, Any] = {"by": make.user(), "at": NOW, "reason": WHY}

    corrections.correct_receipt(receipt, delivery_note="EX-2", note="", **values)

    receipt.refresh_from_db()
    assert receipt.delivery_note == "EX-2"
    assert [(one.was, one.now) for one in Correction.objects.all()] == [("EX-1", "EX-2")]


def test_database_keeps_corrections_and_takes_none_for_a_record_that_is_closed() -> None:
    line = build.line()
    correct(line, supplier_lot="EX-71")
    kept = Correction.objects.get()
    fresh = {"amendment": kept.amendment, "fact": "cost", "was": "1", "now": "2"}

    for act in (
        lambda: Correction.objects.update(was="EX-70"),
        lambda: Correction.objects.all().delete(),
        lambda: Correction.objects.create(**fresh),
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            act()
    assert kept.amendment.at <= timezone.now() + timedelta(days=1)
