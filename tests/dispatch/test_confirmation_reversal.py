"""The word of an arrival that was a mistake: taken back, still to be read, and counted no more."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from pytest_django.asserts import assertContains, assertNotContains, assertRedirects

from tests import make
from tests.dispatch import build
from workshop.aftersales.recalls.scope import scope_of_lot
from workshop.core.errors import ActionRefused
from workshop.core.models import Role, User
from workshop.dispatch import queries
from workshop.dispatch.models import (
    ConfirmationReversal,
    DeliveryConfirmation,
    Dispatch,
    Whereabouts,
)
from workshop.dispatch.proof import check_arrivals
from workshop.dispatch.services import delivery_confirmation
from workshop.ledger.models import Lot
from workshop.ledger.proof.checks import check_guards
from workshop.trace.lot.query import trace

pytestmark = pytest.mark.django_db
DAY = make.DAY
LONG_AGO = DAY - timedelta(days=400)


def lot() -> Lot:
    return build.finished_lot(500, made_on=LONG_AGO)


def sent(of: Lot | None = None, units: int = 5, *, sent_on: date | None = None) -> Dispatch:
    """Sent three days ago, to a shop of its own."""
    to = build.customer(f"Shop {Dispatch.objects.count()}")
    return build.sent((of or lot(), units), to=to, sent_on=sent_on or DAY - timedelta(days=3))


def word_of(dispatch: Dispatch, on: date = DAY, **values: Any) -> DeliveryConfirmation:
    values.setdefault("by", make.user(Role.PACKER))
    values.setdefault("at", make.NOON)
    [word] = delivery_confirmation.confirm_delivery([dispatch], arrived_on=on, **values)
    return word


def take_back(
    word: DeliveryConfirmation, reason: str = "Wrong row ticked", by: User | None = None
) -> ConfirmationReversal | None:
    return delivery_confirmation.reverse_confirmation(
        word, reason=reason, by=by or make.user(), at=make.NOON
    )


def whereabouts(dispatch: Dispatch, on: date = DAY) -> str:
    return queries.dispatches(on=on).get(pk=dispatch.pk).whereabouts


def test_word_taken_back_stays_with_who_when_and_why() -> None:
    word = word_of(sent(), note="by telephone", by=make.user(Role.PACKER, first_name="Pia"))

    take_back(word, "  It was the other parcel ", by=make.user(first_name="Ona"))

    kept = DeliveryConfirmation.objects.with_names().get()
    assert (kept, kept.arrived_on, kept.note, str(kept.by)) == (word, DAY, "by telephone", "Pia")
    back = kept.taken_back
    assert (back.reason, back.at, str(back.by)) == ("It was the other parcel", make.NOON, "Ona")
    assert not kept.stands


def test_dispatch_is_on_its_way_again_and_a_fresh_word_may_follow() -> None:
    of = lot()
    dispatch = sent(of)

    word = word_of(dispatch, DAY - timedelta(days=2))
    told = [(whereabouts(dispatch), queries.on_its_way([of.pk], on=DAY))]
    take_back(word)
    told.append((whereabouts(dispatch), queries.on_its_way([of.pk], on=DAY)))
    fresh = word_of(dispatch)
    told.append((whereabouts(dispatch), queries.on_its_way([of.pk], on=DAY)))

    assert told == [
        (Whereabouts.ARRIVED, {}),
        (Whereabouts.ON_ITS_WAY, {of.pk: Decimal(5)}),
        (Whereabouts.ARRIVED, {}),
    ]
    assert [(one, one.sequence) for one in dispatch.arrivals.all()] == [(word, 0), (fresh, 1)]
    assert list(dispatch.arrivals.effective()) == [fresh]


def test_words_are_taken_back_as_often_as_they_are_wrong() -> None:
    dispatch = sent()

    for _ in range(3):
        take_back(word_of(dispatch))

    assert list(dispatch.arrivals.values_list("sequence", flat=True)) == [0, 1, 2]
    assert whereabouts(dispatch) == Whereabouts.ON_ITS_WAY
    assert list(queries.dispatches(on=DAY)) == [dispatch]


def test_dispatch_long_without_word_is_taken_as_arrived_once_its_word_is_taken_back() -> None:
    dispatch = sent(sent_on=DAY - timedelta(days=20))

    take_back(word_of(dispatch))

    assert whereabouts(dispatch) == Whereabouts.TAKEN


def test_what_came_back_in_part_has_arrived_whatever_was_taken_back() -> None:
    of = lot()
    dispatch = sent(of)
    word = word_of(dispatch, DAY - timedelta(days=2))
    build.back(dispatch, (of, 1), returned_on=DAY - timedelta(days=1))

    take_back(word, "It was a day later")
    fresh = word_of(dispatch, DAY - timedelta(days=1))

    assert whereabouts(dispatch) == Whereabouts.ARRIVED
    assert list(dispatch.arrivals.effective()) == [fresh]


def test_trace_and_recall_count_only_the_word_that_stands() -> None:
    of = lot()
    word = word_of(sent(of))
    before = (int(trace(of, on=DAY).on_its_way), scope_of_lot(of, on=DAY).parcels)

    take_back(word)

    reach = scope_of_lot(of, on=DAY)
    assert before == (0, [])
    assert trace(of, on=DAY).on_its_way == 5
    assert [parcel.dispatch for parcel in reach.parcels] == [word.dispatch]
    assert (int(reach.sums["on_its_way"]), int(reach.sums["arrived"])) == (5, 0)


def test_late_dispatch_is_told_again_once_its_word_is_taken_back() -> None:
    dispatch = sent(sent_on=DAY - timedelta(days=8))
    word = word_of(dispatch)
    before = list(queries.late(on=DAY))

    take_back(word)

    assert (before, list(queries.late(on=DAY))) == ([], [dispatch])


@pytest.mark.parametrize("reason", ["", "   "])
def test_word_is_not_taken_back_without_a_reason(reason: str) -> None:
    word = word_of(sent())

    with pytest.raises(ActionRefused) as caught:
        take_back(word, reason)

    assert (caught.value.message, caught.value.field) == ("Say why it is taken back.", "reason")
    assert ConfirmationReversal.objects.count() == 0


def test_first_reason_stands() -> None:
    word = word_of(sent())

    take_back(word, "Wrong row ticked")
    again = take_back(word, "Another reason")

    assert again is None
    assert list(ConfirmationReversal.objects.values_list("reason", flat=True)) == [
        "Wrong row ticked"
    ]


def test_form_that_comes_again_late_does_not_bring_back_a_word_taken_back() -> None:
    dispatch, other = sent(), sent()
    form: dict[str, Any] = {"arrived_on": DAY, "by": make.user(), "at": make.NOON, "token": "a"}
    first, _ = delivery_confirmation.confirm_delivery([dispatch, other], **form)
    take_back(first)

    assert delivery_confirmation.confirm_delivery([other, dispatch], **form) == []
    assert whereabouts(dispatch) == Whereabouts.ON_ITS_WAY


def refusal(act: Any) -> str:
    """The database's own words when it refuses `act`."""
    with pytest.raises(IntegrityError) as caught, transaction.atomic():
        act()
    return str(caught.value)


def second_word(dispatch: Dispatch, sequence: int) -> DeliveryConfirmation:
    return DeliveryConfirmation.objects.create(
        dispatch=dispatch, sequence=sequence, arrived_on=DAY, at=make.NOON, by=make.user()
    )


IN_TURN = "Of one dispatch one word of its arrival stands; the one before is taken back first."


def test_database_refuses_two_standing_words_of_one_dispatch() -> None:
    dispatch = sent()
    word = word_of(dispatch)

    assert "sequence" in refusal(lambda: second_word(dispatch, 0))
    assert IN_TURN in refusal(lambda: second_word(dispatch, 1))
    take_back(word)
    assert IN_TURN in refusal(lambda: second_word(dispatch, 0))
    assert IN_TURN in refusal(lambda: second_word(dispatch, 2))
    assert second_word(dispatch, 1).stands


def test_word_taken_back_elsewhere_lets_no_second_word_in_here() -> None:
    dispatch = sent()
    word_of(dispatch)
    take_back(word_of(sent()))

    assert IN_TURN in refusal(lambda: second_word(dispatch, 1))


def test_database_refuses_a_second_taking_back_and_one_without_reason() -> None:
    word, other = word_of(sent()), word_of(sent())
    take_back(word)
    rows = ConfirmationReversal.objects

    refusal(lambda: rows.create(arrival=word, reason="x", at=make.NOON, by=word.by))
    told = refusal(lambda: rows.create(arrival=other, reason="", at=make.NOON, by=word.by))
    assert "word_taken_back_says_why" in told
    assert rows.count() == 1


@pytest.mark.parametrize("sql", ["UPDATE {} SET reason = 'x'", "DELETE FROM {}"])
def test_taking_back_is_neither_changed_nor_removed(sql: str) -> None:
    take_back(word_of(sent()))

    def act() -> None:
        with connection.cursor() as cursor:
            cursor.execute(sql.format("dispatch_confirmationreversal"))

    assert "Rows of dispatch_confirmationreversal are only ever added." in refusal(act)


def test_proof_finds_two_standing_words_and_the_guard_that_is_gone() -> None:
    dispatch = sent()
    take_back(word_of(sent()))
    word_of(dispatch)
    assert (check_arrivals().looked_at, check_arrivals().problems) == (2, [])
    on = " ON dispatch_deliveryconfirmation" if connection.vendor == "postgresql" else ""
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TRIGGER dispatch_confirmation_in_sequence{on}")

    second_word(dispatch, 1)

    assert check_arrivals().problems == [f"{dispatch}: more than one word of its arrival stands."]
    assert check_guards().problems == [
        f"The guard dispatch_confirmation_in_sequence is missing: {IN_TURN}"
    ]


@pytest.fixture
def packer(client: Client) -> Client:
    client.force_login(make.user(Role.PACKER, first_name="Pia"))
    return client


def page(dispatch: Dispatch, name: str = "dispatch", *more: int) -> str:
    return reverse(f"dispatch:{name}", args=[dispatch.operation.reference, *more])


def word_today() -> DeliveryConfirmation:
    today = timezone.localdate()
    dispatch = sent(sent_on=today - timedelta(days=3))
    return word_of(dispatch, today, note="left with a neighbour", at=timezone.now())


def test_packer_takes_a_word_back_and_notes_the_right_one(packer: Client) -> None:
    word, today = word_today(), timezone.localdate()
    dispatch, address = word.dispatch, page(word.dispatch, "take-word-back", word.pk)
    assertContains(packer.get(page(dispatch)), address)
    assertContains(
        packer.get(address), f"Take back that {dispatch} arrived on <time", status_code=200
    )

    answer = packer.post(address, {"reason": "It was the parcel next to it"}, follow=True)

    assertRedirects(answer, page(dispatch))
    day = f"{today:%-d %b %Y}"
    assertContains(
        answer, f"Taken back: {dispatch} arrived on {day} (It was the parcel next to it)."
    )
    assertContains(
        answer,
        f'<s class="quiet">arrived on <time datetime="{today.isoformat()}">{day}</time>, '
        "“left with a neighbour”</s>",
        html=True,
    )
    assertContains(answer, "(taken back by Pia, ")
    assertNotContains(answer, address)
    assert (answer.context["dispatch"].whereabouts, answer.context["word"]) == ("on_its_way", None)

    form = answer.context["arrival_form"]
    data = {name: form[name].value() for name in ("arrived_on", "token")}
    answer = packer.post(page(dispatch, "arrived"), data, follow=True)

    assert answer.context["word"] == dispatch.arrivals.effective().get()
    assert answer.context["taken_back"] == [word]


def test_right_word_is_asked_for_although_units_came_back(packer: Client) -> None:
    today, of = timezone.localdate(), lot()
    never_heard_of = sent(of, sent_on=today - timedelta(days=3))
    mistaken = sent(of, sent_on=today - timedelta(days=3))
    take_back(word_of(mistaken, today - timedelta(days=1), at=timezone.now()))
    for dispatch in (never_heard_of, mistaken):
        build.back(dispatch, (of, 1), returned_on=DAY)

    assert packer.get(page(never_heard_of)).context["arrival_form"] is None
    answer = packer.get(page(mistaken))
    assertContains(answer, "since units of it came back")
    assertContains(answer, "It arrived")


@pytest.mark.parametrize(
    ("reason", "sentence"),
    [
        ("  ", "Say why it is taken back."),
        ("x" * 301, "Ensure this value has at most 300 characters (it has 301)."),
    ],
)
def test_page_keeps_what_was_typed_and_says_what_is_wrong(
    packer: Client, reason: str, sentence: str
) -> None:
    word = word_today()

    answer = packer.post(page(word.dispatch, "take-word-back", word.pk), {"reason": reason})

    assert answer.context["form"].errors == {"reason": [sentence]}
    assertContains(answer, sentence)
    assertContains(answer, f'value="{reason}"')
    assert ConfirmationReversal.objects.count() == 0


def test_form_sent_twice_takes_back_once(packer: Client) -> None:
    word = word_today()
    address = page(word.dispatch, "take-word-back", word.pk)
    packer.post(address, {"reason": "Wrong row"})
    fresh = word_of(word.dispatch, timezone.localdate(), at=timezone.now())

    answer = packer.post(address, {"reason": "Wrong row"}, follow=True)

    assertContains(answer, "That was taken back before.")
    assertContains(packer.get(address), "was taken back before</h1>")
    assert (ConfirmationReversal.objects.count(), answer.context["word"]) == (1, fresh)


def test_word_of_another_dispatch_is_not_found(packer: Client) -> None:
    word, other = word_today(), sent()

    assert packer.get(page(other, "take-word-back", word.pk)).status_code == 404
    assert packer.get(page(word.dispatch, "take-word-back", 10**25)).status_code == 404


@pytest.mark.parametrize("role", [Role.MAKER, Role.INSPECTOR])
def test_others_read_the_word_and_do_not_take_it_back(client: Client, role: Role) -> None:
    client.force_login(make.user(role))
    word = word_today()
    address = page(word.dispatch, "take-word-back", word.pk)

    assertContains(client.get(page(word.dispatch)), "left with a neighbour")
    assertNotContains(client.get(page(word.dispatch)), "Take it back")
    assert [client.get(address).status_code, client.post(address).status_code] == [403, 403]


def test_list_takes_word_of_a_dispatch_again_once(packer: Client) -> None:
    word, today = word_today(), timezone.localdate()
    take_back(word)
    address = f"{reverse('dispatch:arrived-many')}?where={Whereabouts.ON_ITS_WAY}"
    form = packer.get(reverse("dispatch:home"), {"where": "on_its_way"}).context["arrivals"]
    typed = {
        "arrived_on": today.isoformat(),
        "dispatches": [word.dispatch_id],
        "token": form["token"].value(),
    }
    assertContains(
        packer.get(reverse("dispatch:home"), {"where": "on_its_way"}), 'name="token"', count=1
    )

    packer.post(address, typed)
    take_back(word.dispatch.arrivals.effective().get())
    answer = packer.post(address, typed, follow=True)

    assertContains(answer, "That was already recorded; nothing was added.")
    assert DeliveryConfirmation.objects.count() == 2
    assert list(answer.context["page"]) == [word.dispatch]


@pytest.mark.parametrize("where", ["", "on_its_way", "arrived"])
def test_list_takes_the_same_queries_for_any_number_of_words(packer: Client, where: str) -> None:
    today, of = timezone.localdate(), lot()

    def asked() -> int:
        with CaptureQueriesContext(connection) as seen:
            answer = packer.get(reverse("dispatch:home"), {"where": where})
            assert answer.status_code == 200
        return len(seen)

    def add(count: int) -> None:
        for _ in range(count):
            kept, gone = sent(of, 1, sent_on=today), sent(of, 1, sent_on=today)
            for dispatch in (kept, gone):
                take_back(word_of(dispatch, today, at=timezone.now()))
            word_of(kept, today, at=timezone.now())

    add(1)
    few = asked()
    add(4)

    assert asked() == few
