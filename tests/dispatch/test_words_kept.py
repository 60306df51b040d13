"""A book of the former release keeps its words of arrivals, and their guards."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.db import IntegrityError, connection

from tests import make
from tests.dispatch import build
from tests.releases import book_of, migrate
from workshop.core.triggers import existing
from workshop.dispatch import arrivals
from workshop.dispatch.guards import GUARDS, ONE_WORD
from workshop.dispatch.models import Arrival, Dispatch

pytestmark = pytest.mark.django_db(transaction=True)

BEFORE = [("dispatch", "0003_guards")]


@pytest.fixture
def book_before() -> Iterator[Any]:
    with book_of(BEFORE) as models:
        yield models


def word_in(book: Any) -> Any:
    """Written as it was then: one word of one dispatch."""
    dispatch = build.sent((build.finished_lot(), 5))
    return book.get_model("dispatch", "Arrival").objects.create(
        dispatch_id=dispatch.pk,
        arrived_on=make.DAY,
        note="by telephone",
        at=make.NOON,
        by_id=make.user().pk,
    )


def guards() -> set[str]:
    return {name for name in existing(connection) if name.startswith("dispatch_")}


def test_words_stand_as_the_first_of_their_dispatches(book_before: Any) -> None:
    was = word_in(book_before)

    migrate()

    [word] = Arrival.objects.standing()
    assert (word.pk, word.dispatch_id, word.turn, word.token) == (was.pk, was.dispatch_id, 0, "")
    assert (word.arrived_on, word.note, word.at, word.by_id) == (
        make.DAY,
        "by telephone",
        make.NOON,
        was.by_id,
    )


def test_old_word_can_be_taken_back_and_a_fresh_one_follow(book_before: Any) -> None:
    word_in(book_before)
    migrate()
    values: Any = {"by": make.user(), "at": make.NOON}

    arrivals.take_word_back(Arrival.objects.get(), reason="Wrong row", **values)
    [fresh] = arrivals.arrive(Dispatch.objects.all(), arrived_on=make.DAY, **values)

    assert list(Arrival.objects.standing()) == [fresh]


def test_guards_stand_after_the_table_was_rebuilt(book_before: Any) -> None:
    before = guards()
    word_in(book_before)

    migrate()

    assert before == {guard.name for guard in GUARDS}
    assert guards() == {guard.name for guard in (*GUARDS, *ONE_WORD)}
    with pytest.raises(IntegrityError, match="Rows of dispatch_arrival are only ever added"):
        Arrival.objects.update(note="x")
