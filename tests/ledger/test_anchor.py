"""The head of the chain is kept outside, and the proof goes on from where it last ended."""

from decimal import Decimal
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from tests import make
from workshop.core.database import triggers
from workshop.core.errors import ActionRefused
from workshop.ledger import services
from workshop.ledger.models import Lot, Operation, OperationKind, Posting, Seal, Side
from workshop.ledger.proof.chain_head import Head, check_against, head, heads_in
from workshop.ledger.proof.seals import prove_seals
from workshop.ledger.services import seal_chain

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def data(settings: Any, tmp_path: Path) -> Path:
    settings.DATA_DIR = tmp_path
    return tmp_path


def kept() -> Head:
    found = head()
    assert found is not None
    return found


def check_ledger(**options: Any) -> str:
    said = StringIO()
    call_command("check_ledger", stdout=said, **options)
    return said.getvalue()


def made_anew() -> None:
    """Somebody with the file changes a posting and computes every seal again."""
    triggers.remove(connection)
    posting = Posting.objects.order_by("pk")[0]
    Posting.objects.filter(pk=posting.pk).update(quantity=posting.quantity + 1)
    forged = [
        (seal.operation, seal.by, seal.at, seal.record) for seal in Seal.objects.order_by("number")
    ]
    Seal.objects.all()._raw_delete(connection.alias)
    was, now = (f",{int(posting.quantity.scaleb(3)) + more}," for more in (0, 1000))
    previous = seal_chain.FIRST
    for number, (operation, by, at, record) in enumerate(forged, start=1):
        text = record.replace(was, now) if operation == posting.operation else record
        digest = seal_chain.digest(previous, text)
        Seal.objects.create(
            number=number, operation=operation, record=text, digest=digest, previous=previous,
            at=at, by=by,
        )  # fmt: skip
        previous = digest
    triggers.install(connection)


def test_nothing_sealed_has_no_head() -> None:
    assert head() is None


def test_head_is_written_in_full_and_short_and_read_back() -> None:
    make.lot()
    newest = kept()

    assert newest.digest == Seal.objects.get().digest
    assert newest.code.startswith(f"1-{newest.digest[:4].upper()}-")
    assert list(heads_in(f"On the wall: {newest.line}.")) == [newest]
    assert list(heads_in(f"({newest.code.lower()})")) == [Head(1, newest.digest[:16])]


def test_book_that_grew_still_contains_its_former_head() -> None:
    make.lot()
    former = kept()
    make.lot()

    assert check_against(former.code).is_sound
    assert check_against(former.line).is_sound


def test_chain_made_anew_looks_sound_and_is_told_by_the_head_that_was_kept() -> None:
    make.lot()
    make.lot()
    former = kept()

    made_anew()

    assert prove_seals()[0].problems == []
    assert check_against(former.code).problems == [
        f"Seal {former.code} was kept; seal 2 of the book is another."
    ]


def test_book_cut_off_is_told_by_the_head_that_was_kept() -> None:
    make.lot()
    former = kept()
    triggers.remove(connection)
    Seal.objects.all()._raw_delete(connection.alias)

    assert check_against(former.code).problems == [
        f"Seal {former.code} was kept, and the book has no seal 1."
    ]


def test_what_is_no_head_is_told() -> None:
    assert check_against("seal of approval").problems == [
        "No head of a chain could be read: give its code, its line, or a file."
    ]


def test_command_holds_the_book_against_a_code_or_a_file(data: Path) -> None:
    make.lot()
    file = data / "heads.txt"
    file.write_text(f"{kept().line}\n")

    said = check_ledger(against=str(file))

    assert "every head of its chain that was kept: sound" in said
    assert f"Its chain ends with {kept().code}: {kept().line}" in said
    with pytest.raises(CommandError, match="1 finding"):
        check_ledger(against="1-0000-0000-0000-0000")


def test_proof_goes_on_from_the_last_seal_that_held() -> None:
    make.lot()
    check_ledger()
    make.lot()

    said = check_ledger(since_last=True)

    assert "1 every seal is unbroken: sound" in " ".join(said.split())


def test_proof_that_goes_on_finds_what_came_since_and_a_chain_made_anew() -> None:
    make.lot()
    make.lot()
    check_ledger()
    later = make.lot()
    triggers.remove(connection)
    Lot.objects.filter(pk=later.pk).update(code="XXXXXXX")
    triggers.install(connection)

    with pytest.raises(CommandError):
        check_ledger(since_last=True)
    made_anew()
    with pytest.raises(CommandError):
        check_ledger(since_last=True)


def test_mark_is_kept_only_of_a_sound_book(data: Path) -> None:
    lot = make.lot()
    triggers.remove(connection)
    Lot.objects.filter(pk=lot.pk).update(code="XXXXXXX")
    triggers.install(connection)

    with pytest.raises(CommandError):
        check_ledger()

    assert not (data / "last-proved.json").exists()


def test_seals_are_numbered_without_a_gap() -> None:
    for _ in range(3):
        make.lot()

    assert list(Seal.objects.values_list("number", flat=True)) == [1, 2, 3]


def test_seal_with_another_number_is_found() -> None:
    make.lot()
    make.lot()
    triggers.remove(connection)
    Seal.objects.filter(number=2).update(number=3)

    assert "does not follow the seal before it" in prove_seals()[0].problems[0]


def test_same_reversal_twice_is_one_but_another_entry_of_its_token_is_refused() -> None:
    lot, count = make.lot(), make.operation(OperationKind.COUNT)
    by = count.opened_by
    first = services.post(count, lot, Side.IN, Decimal(5), by=by, at=make.NOON)
    other = services.post(count, lot, Side.IN, Decimal(7), by=by, at=make.NOON, token="other")

    reversal = services.reverse(first, by=by, at=make.NOON, reason="wrong", token="back")

    again = services.reverse(first, by=by, at=make.NOON, reason="wrong", token="back")
    assert again == reversal
    for foreign in ("back", "other"):
        with pytest.raises(ActionRefused, match="already"):
            services.reverse(other, by=by, at=make.NOON, reason="wrong", token=foreign)
    assert Posting.objects.filter(operation=count).count() == 3
    assert Operation.objects.get(pk=count.pk).closed_at is None
