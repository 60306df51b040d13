"""The chain proved in pieces, by several processes: they find what one finds, in its order."""

from collections.abc import Iterator

import pytest
from django.core.management import call_command
from django.db import connection
from django.db.models import F

from tests.ledger.test_checks import closed_batch, sql, unguarded
from workshop.core import processes
from workshop.core.database import triggers
from workshop.core.processes import many_hands
from workshop.ledger.models import Operation, Seal, Side, StatusChange
from workshop.ledger.proof import seals
from workshop.ledger.proof.findings import SHOWN, Finding
from workshop.ledger.proof.seals import Mark, prove_seals

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def two_cores_and_short_pieces(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setattr(processes, "_cores", lambda: 2)
    monkeypatch.setattr(seals, "CHUNK", 2)
    yield
    triggers.install(connection)


def closed(batches: int) -> list[Operation]:
    """Each has two seals: of the receipt of its oil, and its own."""
    return [closed_batch()[0] for _ in range(batches)]


def in_pieces(since: Mark | None = None) -> tuple[Finding, Mark]:
    """As several processes find it; one alone finds the same."""
    alone = prove_seals(since=since)
    with many_hands() as hands:
        together = prove_seals(since=since, hands=hands)
    assert together == alone
    return together


def test_sound_chain_is_sound_in_pieces_and_its_end_is_marked() -> None:
    closed(4)

    finding, mark = in_pieces()

    assert finding.problems == []
    newest = Seal.objects.order_by("-number")[0]
    assert (mark.number, mark.digest) == (8, newest.digest)
    assert mark.logs["ledger_statuschange"] == StatusChange.objects.order_by("-pk")[0].pk


def test_goes_on_from_mark() -> None:
    closed(2)
    _, mark = in_pieces()
    closed(3)

    finding, end = in_pieces(mark)

    assert (finding.looked_at, finding.problems, end.number) == (6, [], 10)


def test_what_was_changed_in_any_piece_is_named() -> None:
    batches = closed(5)
    with unguarded():
        for batch in (batches[0], batches[2], batches[4]):
            batch.postings.filter(side=Side.OUT).update(quantity=F("quantity") + 1)

    finding, _ = in_pieces()

    assert finding.problems == [
        f"Seal {number} of {batch}: posting of {batch} is no longer as sealed: quantity."
        for number, batch in ((2, batches[0]), (6, batches[2]), (10, batches[4]))
    ]


@pytest.mark.parametrize("gone", [[1], [4], [5], [4, 5, 6, 7], [9, 10]])
def test_seals_that_are_gone_leave_a_gap(gone: list[int]) -> None:
    closed(5)
    missing = list(
        Seal.objects.filter(number__in=gone).values_list("operation__reference", flat=True)
    )
    with unguarded():
        Seal.objects.filter(number__in=gone).delete()

    finding, mark = in_pieces()

    at_end = gone[-1] == 10
    assert {f"{one} is closed but not sealed." for one in missing} <= {*finding.problems}
    assert sum("does not follow" in one for one in finding.problems) == (not at_end)
    assert mark.number == (8 if at_end else 10)


def test_record_made_anew_is_found_where_a_piece_ends() -> None:
    closed(3)
    with unguarded():
        sql("UPDATE ledger_seal SET record = record || ' ' WHERE number = 4")

    finding, _ = in_pieces()

    assert "does not fit its own record" in finding.problems[0]


def test_more_than_can_be_shown_is_counted_over_all_pieces() -> None:
    closed(SHOWN)
    with unguarded():
        sql("UPDATE ledger_posting SET reason = 'x' WHERE side = 'out'")

    finding, _ = in_pieces()

    assert (len(finding.problems), finding.more) == (SHOWN, SHOWN)


def test_command_proves_in_pieces(capsys: pytest.CaptureFixture[str]) -> None:
    closed(3)

    call_command("check_ledger")

    told = capsys.readouterr().out
    assert "         6  every seal is unbroken: sound" in told
    assert "No finding: the book is sound." in told
