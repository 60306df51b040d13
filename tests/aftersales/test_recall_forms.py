"""Each act of a recall: a form sent twice, one that is refused, and what is written of it."""

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from tests import make
from tests.dispatch import build as dispatch
from tests.resent import refused
from tests.trace import rooms
from workshop.aftersales.models import Recall
from workshop.aftersales.services import recalls
from workshop.aftersales.services.recall_terms import set_terms
from workshop.core.saving.new_tokens import new_token

pytestmark = pytest.mark.django_db
ONE = Decimal(1)
LATER = make.NOON + timedelta(hours=1)


def other_content(act: Callable[[], Any], name: str) -> None:
    """The token came with something else before: what was sent first is recorded, this is not."""
    refused(act, f"already sent with other figures ({name})")


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("reason", "It smells"), ("hazard", "1"), ("depth", "consumer"), ("level", "B"),
        ("remedy", "money back"), ("complaint", True), ("is_drill", True), ("lot", True),
    ],
)  # fmt: skip
def test_beginning_sent_again_with_other_content_is_refused(name: str, value: Any) -> None:
    house, token = rooms.House(), new_token()
    first = rooms.recall(house.tins, token=token)
    other = {name: rooms.complaint(house.tins) if name == "complaint" else value}
    lot = house.wax if other.pop("lot", False) else house.tins

    other_content(lambda: rooms.recall(lot, token=token, **other), name.removeprefix("is_"))
    assert [*Recall.objects.all()] == [first]


def test_recall_keeps_what_it_was_begun_with_and_a_drill_begins_beside_it() -> None:
    house = rooms.House()
    told = rooms.complaint(house.tins)
    values = {"hazard": "2", "depth": "consumer", "level": "C", "remedy": "money back"}
    begun = rooms.recall(house.tins, reason=" Rancid ", complaint=told, **values)
    begun.refresh_from_db()

    assert {name: getattr(begun, name) for name in values} == values
    assert (begun.reason, begun.complaint, begun.is_drill) == ("Rancid", told, False)
    assert (begun.notice_on, begun.started_at) == (make.DAY, make.NOON)
    usual = rooms.recall(house.wax)
    assert (usual.hazard, usual.depth, usual.level, usual.remedy) == ("", "retail", "A", "")
    assert rooms.recall(house.tins, is_drill=True).is_drill
    refused(lambda: rooms.recall(house.tins), f"Recall {begun} of lot {house.tins} is open", "lot")
    refused(lambda: rooms.recall(house.salve, reason=" "), "Say why it is recalled", "reason")
    rooms.close(begun)
    assert rooms.recall(house.tins) != begun


def test_what_is_held_is_written_once_by_whom_and_when() -> None:
    house, token = rooms.House(), new_token()
    recall = rooms.recall(house.wax, reason="R" * 298)
    held = recall.entries.get(what="held")

    assert held.words == ", ".join(str(lot) for lot in (house.wax, house.salve, house.tins))
    assert (held.at, held.by) == (make.NOON, recall.started_by)
    now: dict[str, Any] = {"by": make.user(), "at": LATER, "token": token}
    assert recalls.hold(recall, **now) == []  # nothing came since, and nothing is written of it
    assert recall.entries.filter(what="held").count() == 1
    other = rooms.recall(house.salve)
    other_content(lambda: recalls.hold(other, **now), "recall")
    assert house.tins.status_changes.latest("pk").reason == f"Recall {recall}: {'R' * 298}"[:300]


def test_note_sent_again_with_other_words_or_without_any_is_refused() -> None:
    house, token = rooms.House(), new_token()
    recall, other = rooms.recall(house.tins), rooms.recall(house.wax)
    now: dict[str, Any] = {"by": make.user(), "at": LATER}
    recalls.note(recall, " The authority called. ", token=token, **now)

    other_content(lambda: recalls.note(recall, "It did not.", token=token, **now), "words")
    other_content(
        lambda: recalls.note(other, "The authority called.", token=token, **now), "recall"
    )
    refused(
        lambda: recalls.note(recall, " ", token=new_token(), **now), "Say what happened.", "words"
    )
    entry = recall.entries.get(what="noted")
    assert (entry.words, entry.at, entry.by) == ("The authority called.", LATER, now["by"])


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("means", "email"), ("spoke_with", "Ivo"), ("words", "Nobody spoke"), ("will_return", ONE),
        ("destroyed", ONE), ("sold_on", ONE), ("buyers_units", ONE),
    ],
)  # fmt: skip
def test_call_sent_again_with_other_content_is_refused(name: str, value: Any) -> None:
    house, token = rooms.House(), new_token()
    recall = rooms.recall(house.tins)
    house.talk(recall, house.shop, "answered", token=token)

    again = {"token": token, name: value}
    other_content(
        lambda: house.talk(recall, house.shop, "answered", **again), name.replace("_", " ")
    )
    other_content(lambda: house.talk(recall, house.spa, "answered", token=token), "customer")
    other_content(lambda: house.talk(recall, house.shop, "told", token=token), "entry")
    house.talk(recall, house.shop, "answered", token=token)
    assert recall.entries.filter(customer__isnull=False).count() == 1


def test_call_is_written_with_all_that_was_said() -> None:
    house = rooms.House()
    house.stands_for_many()
    recall = rooms.recall(house.tins)
    said: dict[str, Any] = {
        "means": "email", "will_return": ONE, "destroyed": 2 * ONE, "sold_on": 297 * ONE,
        "buyers_units": 300 * ONE,
    }  # fmt: skip
    house.talk(recall, house.shop, "answered", spoke_with=" Ivo ", words=" All told ", **said)

    entry = recall.entries.get(customer=house.shop)
    assert {name: getattr(entry, name) for name in said} == said
    assert (entry.what, entry.spoke_with, entry.words) == ("answered", "Ivo", "All told")
    assert entry.at == make.NOON


@pytest.mark.parametrize(
    ("what", "values", "sentence", "field"),
    [
        ("held", {}, "Say whether they were told", "what"),
        ("told", {"words": " "}, "Write down what was said", "words"),
        ("told", {"will_return": ONE}, "Units are told by an answer", "what"),
        ("not_reached", {"sold_on": ONE}, "Units are told by an answer", "what"),
        ("answered", {"will_return": 6 * ONE, "destroyed": 6 * ONE, "sold_on": 7 * ONE},
         "Only 18 units are still with Tollen Baths; together these are 19.", "will_return"),
        ("listed", {}, "Only in a drill", "what"),
        ("told", {"buyers_units": ONE}, "Tollen Baths does not stand for many buyers",
         "buyers_units"),
    ],
)  # fmt: skip
def test_call_that_cannot_be_is_told_beside_its_field(
    what: str, values: dict[str, Any], sentence: str, field: str
) -> None:
    house = rooms.House()
    recall = rooms.recall(house.tins)

    refused(lambda: house.talk(recall, house.spa, what, **values), sentence, field)
    nobody = dispatch.customer("Nobody")
    refused(lambda: house.talk(recall, nobody, "told"), "Nobody was sent none of these lots")
    # All that is still there may be answered for.
    house.talk(recall, house.spa, "answered", will_return=18 * ONE)


def test_buyers_of_who_stands_for_many_are_told_of_where_somebody_was_reached() -> None:
    house = rooms.House()
    house.stands_for_many()
    recall, drill = rooms.recall(house.tins), rooms.recall(house.tins, is_drill=True)

    def talk(of: Recall, what: str, units: int) -> None:
        house.talk(of, house.shop, what, buyers_units=Decimal(units))

    refused(lambda: talk(recall, "not_reached", 1), "Nobody was reached", "buyers_units")
    refused(lambda: talk(recall, "told", 301), "Only 300 units are still", "buyers_units")
    refused(lambda: talk(recall, "listed", 300), "Only in a drill", "what")
    refused(lambda: house.talk(drill, house.spa, "listed"), "Only in a drill", "what")
    talk(recall, "not_reached", 0)
    talk(recall, "told", 300)
    talk(drill, "listed", 300)
    assert [str(one.buyers_units) for one in recall.entries.filter(what="told")] == ["300.000"]


@pytest.mark.parametrize(("name", "value"), [("cause", "Another"), ("found", {}), ("recall", True)])
def test_end_sent_again_with_other_content_is_refused(name: str, value: Any) -> None:
    house, token = rooms.House(), new_token()
    recall, other = rooms.recall(house.tins), rooms.recall(house.wax)
    rooms.close(recall, {house.tins: 162}, token=token)

    values: dict[str, Any] = {"found": {house.tins: 162}, "token": token, name: value}
    ended = other if values.pop("recall", False) else recall
    other_content(lambda: rooms.close(ended, **values), name)
    assert rooms.close(recall, {house.tins: 162}, token=token).is_closed


def test_end_keeps_its_sums_and_who_ended_it_and_is_not_before_the_beginning() -> None:
    house = rooms.House()
    house.stands_for_many()
    recall = rooms.recall(house.tins)
    early = make.NOON - timedelta(seconds=1)
    refused(lambda: rooms.close(recall, at=early), "It cannot end before it began")
    refused(lambda: rooms.close(recall, cause=" "), "Name the cause", "cause")
    house.talk(recall, house.spa, "told")
    house.talk(recall, house.shop, "told", buyers_units=Decimal(280))

    closed = rooms.close(recall, {house.tins: 160}, cause=" Old oil ", at=make.NOON)

    assert [int(one) for one in (closed.units_out, closed.units_reached)] == [318, 298]
    assert int(closed.units_unreachable) == 20
    assert (closed.cause, closed.closed_at) == ("Old oil", make.NOON)
    entry = closed.entries.get(what="closed")
    assert (entry.words, entry.at, entry.by) == ("Old oil", make.NOON, closed.closed_by)
    (line,) = closed.lines.all()
    assert (line.lot, int(line.found or 0), int(line.missing)) == (house.tins, 160, 2)
    refused(lambda: rooms.close(recall), f"{recall} is closed.")


TERMS: dict[str, Any] = {"hazard": "2", "depth": "consumer", "level": "B"}


@pytest.mark.parametrize(
    ("terms", "sentence", "field"),
    # 21 CFR 7.41(b): the authority assigns the class; who and when go together.
    [
        ({"classed_by": "FDA", "hazard": ""}, "Choose the class that was assigned.", "hazard"),
        ({"classed_by": "FDA"}, "Say on which day the class was assigned.", "classed_on"),
        ({"classed_on": make.DAY}, "Name the authority that assigned the class.", "classed_by"),
        ({"classed_by": " ", "classed_on": make.DAY}, "Name the authority", "classed_by"),
        ({"classed_by": "FDA", "classed_on": make.day(1)}, "in the future", "classed_on"),
        ({"words": " "}, "Say who decided so, and why.", "words"),
    ],
)
def test_terms_that_cannot_be_are_told_beside_their_field(
    terms: dict[str, Any], sentence: str, field: str
) -> None:
    recall = rooms.recall(rooms.House().tins)
    sent: dict[str, Any] = {"words": "By letter", **TERMS, **terms}

    refused(
        lambda: set_terms(recall, by=make.user(), at=make.NOON, token=new_token(), **sent),
        sentence,
        field,
    )
    recall.refresh_from_db()
    assert recall.hazard == ""


def test_terms_are_kept_and_told_in_the_log_once() -> None:
    recall, token = rooms.recall(rooms.House().tins), new_token()
    now: dict[str, Any] = {"by": make.user(), "at": LATER, "token": token}
    sent: dict[str, Any] = {
        **TERMS, "classed_by": "FDA", "classed_on": make.DAY, "notice_on": make.DAY,
        "remedy": "money back",
    }  # fmt: skip
    changed = set_terms(recall, words=" By letter ", **sent, **now)

    assert {name: getattr(changed, name) for name in sent} == sent
    entry = recall.entries.get(what="terms")
    day = f"{make.DAY.day} {make.DAY:%b %Y}"
    assert entry.words == (
        f"Class II: passing harm, or serious harm only remotely likely (assigned by FDA, {day}); "
        f"consumer or user; B, more than 10 %, fewer than all; notices dated {day}; customers get: "
        "money back. By letter"
    )
    assert (entry.at, entry.by) == (LATER, now["by"])
    assert set_terms(recall, words="By letter", **sent, **now) == recall
    other_content(lambda: set_terms(recall, words="By call", **sent, **now), "words")
    other_content(
        lambda: set_terms(recall, words="By letter", **{**sent, "level": "A"}, **now), "level"
    )
