"""Whether what was sent has arrived: word of it, and a time after which none is needed."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import DatabaseError, connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from pytest_django.asserts import assertContains, assertNotContains, assertRedirects

from tests import make
from tests.dispatch import build
from workshop.core.errors import ActionRefused
from workshop.core.models import Role, Workshop
from workshop.dispatch import queries as reads
from workshop.dispatch.models import DeliveryConfirmation, Dispatch, Whereabouts
from workshop.dispatch.services import delivery_confirmation
from workshop.ledger.models import Lot

pytestmark = pytest.mark.django_db
LONG_AGO = make.DAY - timedelta(days=400)


def days(count: int) -> timedelta:
    return timedelta(days=count)


def lot(on_hand: int = 500) -> Lot:
    return build.finished_lot(on_hand, made_on=LONG_AGO)


def sent(of: Lot, units: int, sent_on: date, name: str = "") -> Dispatch:
    name = name or f"Shop {Dispatch.objects.count()}"
    return build.sent((of, units), to=build.customer(name), sent_on=sent_on)


def arrive(*dispatches: Dispatch, on: date = make.DAY, **values: Any) -> list[DeliveryConfirmation]:
    return delivery_confirmation.confirm_delivery(
        dispatches, arrived_on=on, by=make.user(), at=make.NOON, **values
    )


def whereabouts(dispatch: Dispatch, on: date = make.DAY) -> str:
    return reads.dispatches(on=on).get(pk=dispatch.pk).whereabouts


def workshop(**values: Any) -> Workshop:
    return Workshop.objects.create(pk=1, name="Hollin Yard", address="2 Mill Lane", **values)


def test_dispatch_is_on_its_way_until_somebody_hears_that_it_arrived() -> None:
    dispatch = sent(lot(), 5, make.DAY - days(3))

    before = whereabouts(dispatch)
    [arrival] = arrive(dispatch, note=" by telephone ")

    assert before == Whereabouts.ON_ITS_WAY
    assert whereabouts(dispatch) == Whereabouts.ARRIVED
    assert (arrival.arrived_on, arrival.note, arrival.at) == (
        make.DAY,
        "by telephone",
        make.NOON,
    )


def test_dispatch_without_word_is_taken_as_arrived_after_fourteen_days() -> None:
    dispatch = sent(lot(), 5, make.DAY - days(14))

    assert whereabouts(dispatch, make.DAY - days(1)) == Whereabouts.ON_ITS_WAY
    assert whereabouts(dispatch) == Whereabouts.TAKEN


def test_workshop_says_how_long_a_dispatch_may_take() -> None:
    workshop(days_on_the_way=5)
    of = lot()
    dispatch = sent(of, 5, make.DAY - days(5))
    fresh = sent(of, 7, make.DAY - days(4))

    assert whereabouts(dispatch) == Whereabouts.TAKEN
    assert whereabouts(fresh) == Whereabouts.ON_ITS_WAY
    assert reads.on_its_way([of.pk], on=make.DAY) == {of.pk: Decimal(7)}


def test_return_is_word_that_the_dispatch_had_arrived() -> None:
    of = lot()
    dispatch = sent(of, 5, make.DAY - days(3))

    build.back(dispatch, (of, 1))

    assert whereabouts(dispatch) == Whereabouts.ARRIVED
    assert whereabouts(dispatch, make.DAY - days(1)) == Whereabouts.ON_ITS_WAY
    assert reads.on_its_way([of.pk], on=make.DAY) == {}


def test_on_its_way_adds_up_each_lot_over_its_dispatches_in_one_query() -> None:
    one, two, other = lot(), lot(), lot()
    sent(one, 5, make.DAY - days(2))
    build.sent((one, 8), (two, 3), to=build.customer("Both"), sent_on=make.DAY)
    arrive(sent(two, 40, make.DAY - days(4)))
    sent(one, 100, make.DAY - days(30))

    with CaptureQueriesContext(connection) as queries:
        found = reads.on_its_way([one.pk, two.pk, other.pk], on=make.DAY)

    assert found == {one.pk: Decimal(13), two.pk: Decimal(3)}
    assert len(queries) == 1


def test_on_its_way_tells_of_a_day_gone_by() -> None:
    of = lot()
    dispatch = sent(of, 5, make.DAY - days(10))
    arrive(dispatch, on=make.DAY - days(6))

    found = [reads.on_its_way([of.pk], on=make.DAY - days(ago)) for ago in (11, 10, 7, 6)]

    assert found == [{}, {of.pk: Decimal(5)}, {of.pk: Decimal(5)}, {}]


def test_first_word_of_an_arrival_stands() -> None:
    dispatch, fresh = sent(lot(), 5, make.DAY - days(3)), sent(lot(), 5, make.DAY - days(3))
    arrive(dispatch, on=make.DAY - days(1))

    kept = arrive(dispatch, fresh)

    assert [one.dispatch for one in kept] == [fresh]
    assert dispatch.arrivals.get().arrived_on == make.DAY - days(1)


@pytest.mark.parametrize(
    ("on", "sentence"),
    [
        (make.DAY + days(1), "That date is in the future."),
        (
            make.DAY - days(4),
            f"D-{make.MONTH}-01 was sent on {make.shown(-3)}, so it arrived later than this.",
        ),
        (
            make.DAY,
            f"Units of D-{make.MONTH}-01 came back on {make.shown(-1)}, so it had arrived by then.",
        ),
    ],
)
def test_arrival_on_an_odd_day_is_refused_and_none_is_kept(on: date, sentence: str) -> None:
    of = lot()
    dispatch = sent(of, 5, make.DAY - days(3))
    build.back(dispatch, (of, 1), returned_on=make.DAY - days(1))
    other = sent(lot(), 5, make.DAY - days(9))

    with pytest.raises(ActionRefused) as caught, transaction.atomic():
        arrive(other, dispatch, on=on)

    assert (caught.value.message, caught.value.field) == (sentence, "arrived_on")
    assert DeliveryConfirmation.objects.count() == 0


@pytest.mark.parametrize("sql", ["UPDATE {} SET note = 'x'", "DELETE FROM {}"])
def test_arrival_is_neither_changed_nor_removed(sql: str) -> None:
    arrive(sent(lot(), 5, make.DAY))

    with (
        pytest.raises(
            DatabaseError, match="Rows of dispatch_deliveryconfirmation are only ever added"
        ),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(sql.format("dispatch_deliveryconfirmation"))


def test_late_is_what_has_travelled_half_of_the_days() -> None:
    of = lot()
    sent(of, 1, make.DAY - days(6))
    late = sent(of, 1, make.DAY - days(7))
    later = sent(of, 1, make.DAY - days(13))
    sent(of, 1, make.DAY - days(14))
    arrive(sent(of, 1, make.DAY - days(8)))

    assert list(reads.late(on=make.DAY)) == [later, late]


@pytest.fixture
def packer(client: Client) -> Client:
    client.force_login(make.user(Role.PACKER))
    return client


def page(dispatch: Dispatch, name: str = "dispatch") -> str:
    return reverse(f"dispatch:{name}", args=[dispatch.operation.reference])


def test_dispatch_page_takes_word_of_the_arrival_at_one_press(packer: Client) -> None:
    today = timezone.localdate()
    dispatch = sent(lot(), 5, today - days(3))
    form = packer.get(page(dispatch)).context["arrival_form"]

    answer = packer.post(
        page(dispatch, "arrived"), {"arrived_on": form["arrived_on"].value()}, follow=True
    )

    assertRedirects(answer, page(dispatch))
    assertContains(answer, f"Arrived on {today:%-d %b %Y}: {dispatch}.")
    assert answer.context["arrival_form"] is None
    assert dispatch.arrivals.get().by.role == Role.PACKER


def test_arrival_page_keeps_what_was_typed_and_says_what_is_wrong(packer: Client) -> None:
    dispatch = sent(lot(), 5, timezone.localdate())
    typed = {"arrived_on": "2020-02-30", "note": "by post"}

    answer = packer.post(page(dispatch, "arrived"), typed)

    assertContains(answer, "That is not a day of the calendar.")
    assertContains(answer, "by post")
    assert DeliveryConfirmation.objects.count() == 0


def test_arrival_sent_twice_is_kept_once(packer: Client) -> None:
    dispatch = sent(lot(), 5, timezone.localdate())
    typed = {"arrived_on": timezone.localdate().isoformat()}

    packer.post(page(dispatch, "arrived"), typed)
    answer = packer.post(page(dispatch, "arrived"), typed, follow=True)

    assertContains(answer, "That was already recorded; nothing was added.")
    assert DeliveryConfirmation.objects.count() == 1


def test_list_marks_several_dispatches_as_arrived(packer: Client) -> None:
    today = timezone.localdate()
    one, two, rest = (sent(lot(), 5, today - days(ago)) for ago in (3, 2, 1))
    where = {"where": Whereabouts.ON_ITS_WAY}
    assertContains(packer.get(reverse("dispatch:home"), where), "3 dispatches on the way")
    typed = {"arrived_on": today.isoformat(), "dispatches": [one.pk, two.pk]}

    address = f"{reverse('dispatch:arrived-many')}?where={Whereabouts.ON_ITS_WAY}"
    answer = packer.post(address, typed, follow=True)

    assertRedirects(answer, f"{reverse('dispatch:home')}?where={Whereabouts.ON_ITS_WAY}")
    assertContains(answer, f"Arrived on {today:%-d %b %Y}: {one}, {two}.")
    assert list(answer.context["page"]) == [rest]


def test_list_without_ticks_says_so_and_keeps_the_day(packer: Client) -> None:
    sent(lot(), 5, timezone.localdate())

    answer = packer.post(
        f"{reverse('dispatch:arrived-many')}?where={Whereabouts.ON_ITS_WAY}",
        {"arrived_on": make.iso(-5)},
    )

    assertContains(answer, "Tick the dispatches that arrived.")
    assertContains(answer, f'value="{make.iso(-5)}"')


def test_list_shows_only_dispatches_that_are_where_it_is_asked(packer: Client) -> None:
    today, of = timezone.localdate(), lot()
    near, far = sent(of, 1, today), sent(of, 2, today - days(40))
    there = sent(of, 3, today - days(40))
    delivery_confirmation.confirm_delivery(
        [there], arrived_on=today, by=make.user(), at=timezone.now()
    )

    def shown(where: str) -> set[Dispatch]:
        return set(packer.get(reverse("dispatch:home"), {"where": where}).context["page"])

    assert shown("on_its_way") == {near}
    assert shown("taken_as_arrived") == {far}
    assert shown("arrived") == {there}
    assert shown("on the moon") == {near, far, there}


def test_inspector_is_offered_no_word_of_arrival(client: Client) -> None:
    client.force_login(make.user(Role.INSPECTOR))
    dispatch = sent(lot(), 5, timezone.localdate())

    assertNotContains(client.get(page(dispatch)), "It arrived")
    assertNotContains(
        client.get(reverse("dispatch:home"), {"where": "on_its_way"}),
        "Mark the ticked ones as arrived",
    )


def test_list_needs_the_same_queries_for_one_and_for_many(packer: Client) -> None:
    today, of = timezone.localdate(), lot()
    address = reverse("dispatch:home") + "?where=on_its_way"
    delivery_confirmation.confirm_delivery(
        [sent(of, 1, today)], arrived_on=today, by=make.user(), at=timezone.now()
    )
    sent(of, 1, today)
    with CaptureQueriesContext(connection) as few:
        packer.get(address)
    for _ in range(4):
        sent(of, 1, today)
    with CaptureQueriesContext(connection) as many:
        packer.get(address)

    assert len(many) == len(few)
