"""Today: what waits, said in one sentence, and the next act of each role."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from pytest_django.asserts import assertContains, assertNotContains

from tests import make
from tests.counts import build as counting
from tests.curing import build as curing
from tests.dispatch import build as dispatch
from tests.goods_in import build as goods_in
from tests.kettle import build as kettle
from tests.packing import build as packing
from tests.trace import rooms
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.dispatch.models import Dispatch
from workshop.dispatch.services import delivery_confirmation
from workshop.front.dashboard_lists import WATCHES
from workshop.front.duties import duties
from workshop.goods_in import services as receive
from workshop.goods_in.models import Supplier, Verdict
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, OperationKind, Place, Side, Status

pytestmark = pytest.mark.django_db
EARLIER = timedelta(days=300)


def rows_of(key: str) -> list[object]:
    today = timezone.localdate()
    return next(list(watch.rows(today)) for watch in WATCHES if watch.key == key)


def dated(days: int, **values: object) -> Lot:
    today = timezone.localdate()
    return make.lot(
        made_on=today - EARLIER,
        best_before=today + timedelta(days=days),
        **values,  # type: ignore[arg-type]
    )


def counts(answer: Any) -> dict[str, str]:
    """How many each list of Today counts, those that count nothing left out."""
    return {one.watch.key: one.number for one in answer.context["seen"] if one.rows}


def below_zero() -> Lot:
    lot = make.lot(on_hand=3)
    batch = make.operation(OperationKind.BATCH)
    ledger.post(batch, lot, Side.IN, Decimal(5), by=make.user(), at=make.NOON)
    return lot


def test_today_says_that_nothing_waits(client: Client) -> None:
    client.force_login(make.user())
    make.item()

    assertContains(client.get(reverse("front:today")), "Nothing is waiting: no batch is under way")


def test_today_lists_a_batch_under_way_and_offers_to_go_on_with_it(client: Client) -> None:
    batch = kettle.batch()
    client.force_login(make.user(Role.MAKER))

    answer = client.get(reverse("front:today"))

    assertContains(answer, f"Begin weighing {batch}")
    assert counts(answer)["under-way"] == "1"
    assertContains(answer, 'class="btn primary', count=1)


def test_today_lists_lots_that_await_a_decision_and_are_in_hand() -> None:
    waiting = make.lot(status=Status.QUARANTINE)
    held = make.lot()
    ledger.set_lot_status(held, Status.ON_HOLD, by=make.user(), at=make.NOON, reason="Smell")
    make.lot(status=Status.QUARANTINE, on_hand=0)
    make.lot()

    assert rows_of("awaiting") == [waiting, held]


def test_today_lists_lots_past_or_near_their_date_the_first_to_expire_first() -> None:
    edge, past, soon = dated(60), dated(-1), dated(5)
    dated(61)
    dated(5, on_hand=0)
    make.lot()

    assert rows_of("expiring") == [past, soon, edge]


def test_today_leaves_out_rejected_lots_past_their_date() -> None:
    lot = dated(-1)
    ledger.set_lot_status(lot, Status.REJECTED, by=make.user(), at=make.NOON, reason="Rancid")

    assert rows_of("expiring") == []


def test_today_lists_certificates_that_lapse_unless_renewed() -> None:
    today = timezone.localdate()
    items = [goods_in.material()]
    one, two = goods_in.supplier(), goods_in.supplier()
    lapsing = goods_in.certificate(one, items, valid_to=today + timedelta(days=60))
    goods_in.certificate(two, items, valid_to=today + timedelta(days=10))
    goods_in.certificate(two, items, valid_from=today, valid_to=today + timedelta(days=400))
    goods_in.certificate(goods_in.supplier(), items, valid_to=today + timedelta(days=61))

    assert rows_of("lapsing") == [lapsing]


def test_today_lists_lots_below_zero_on_the_book(client: Client) -> None:
    lot = below_zero()
    make.lot()
    client.force_login(make.user())

    answer = client.get(reverse("front:today"))

    assert rows_of("below-zero") == [lot]
    assert counts(answer)["below-zero"] == "1"
    in_full = client.get(reverse("front:watch", args=["below-zero"]))
    assertContains(in_full, reverse("ledger:count", args=[lot.code]))


def test_each_list_is_a_quiet_count_that_leads_to_it(client: Client) -> None:
    below_zero()
    for _ in range(2):
        make.lot(status=Status.QUARANTINE)
    client.force_login(make.user())

    answer = client.get(reverse("front:today"))

    assert counts(answer) == {"below-zero": "1", "awaiting": "2"}
    for key in ("below-zero", "awaiting"):
        assertContains(answer, f'href="{reverse("front:watch", args=[key])}"')


@pytest.mark.parametrize(
    ("role", "first"),
    [
        (Role.OWNER, "Plan a batch"),
        (Role.MAKER, "Plan a batch"),
        (Role.PACKER, "Send lots out"),
        (Role.INSPECTOR, "Trace a lot"),
    ],
)
def test_today_offers_each_role_its_own_next_act(client: Client, role: Role, first: str) -> None:
    client.force_login(make.user(role))
    make.item()

    answer = client.get(reverse("front:today"))

    assert answer.context["next"].act == first
    assertContains(answer, 'class="btn primary big"', count=1)


def test_today_offers_only_acts_that_the_role_may_open(client: Client) -> None:
    make.item()
    for role in Role:
        client.force_login(make.user(role))
        context = client.get(reverse("front:today")).context
        for address in [context["next"].address, *(one for _, one in context["acts"])]:
            assert client.get(address).status_code == 200


def test_today_hides_the_count_from_the_inspector(client: Client) -> None:
    lot = below_zero()
    client.force_login(make.user(Role.INSPECTOR))

    shown = client.get(reverse("front:watch", args=["below-zero"]))
    assertNotContains(shown, reverse("ledger:count", args=[lot.code]))


def sent_days_ago(days: int) -> Dispatch:
    today, number = timezone.localdate(), Dispatch.objects.count()
    lot = dispatch.finished_lot(made_on=today - EARLIER)
    customer = dispatch.customer(f"Shop {number}", telephone="555 0100")
    return dispatch.sent((lot, 3), to=customer, sent_on=today - timedelta(days=days))


def test_today_lists_packing_runs_under_way(client: Client) -> None:
    run = packing.run()
    packing.packed()
    client.force_login(make.user(Role.PACKER))

    answer = client.get(reverse("front:today"))

    assert rows_of("packing") == [run]
    assert counts(answer)["packing"] == "1"
    assertContains(answer, f"Continue packing {run}")


def test_today_lists_dispatches_long_on_the_way_until_there_is_word(client: Client) -> None:
    today = timezone.localdate()
    late, heard_of = sent_days_ago(8), sent_days_ago(8)
    sent_days_ago(2)
    delivery_confirmation.confirm_delivery(
        [heard_of], arrived_on=today, by=make.user(), at=timezone.now()
    )
    client.force_login(make.user(Role.PACKER))

    answer = client.get(reverse("front:today"))

    assert rows_of("late") == [late]
    assertContains(answer, f"is overdue: ask {late.customer}")
    assertContains(answer, "555 0100")


def test_racks_are_weighed_a_week_after_the_pour_and_after_each_weighing(client: Client) -> None:
    never, week_old, fresh = (curing.soap(days_ago=days) for days in (7, 20, 6))
    curing.weighed(week_old, "120", days_ago=7)
    lately, weighed_since, released = (curing.soap(days_ago=20) for _ in range(3))
    curing.weighed(lately, "120", days_ago=6)
    curing.weighed(weighed_since, "120", days_ago=14)
    curing.weighed(weighed_since, "118", days_ago=1)
    kettle.release(released.origin.batch, at=timezone.now(), is_despite=True, note="A fair")
    client.force_login(make.user(Role.MAKER))

    answer = client.get(reverse("front:today"))

    assert rows_of("racks") == [never, week_old]
    assert fresh not in rows_of("racks")
    (duty,) = [duty for duty in answer.context["duties"] if duty.code == "Racks"]
    assert (duty.day, duty.about) == (
        timezone.localdate(),
        "2 lots were poured or weighed a week ago or longer.",
    )
    assertContains(answer, "are due for their weekly weighing")


def reviewed(*days: int) -> Supplier:
    """A supplier reviewed once for each of these next days, counted from today."""
    of, today = goods_in.supplier(), timezone.localdate()
    for each in days:
        receive.review_supplier(
            of,
            {
                "verdict": Verdict.APPROVED,
                "next_review": today + timedelta(days=each),
                "reason": "Questionnaire answered",
            },
            answers={},
            by=make.user(),
            at=timezone.now() - timedelta(days=400),
            token=new_token(),
        )
    return of


def test_today_lists_suppliers_whose_next_review_is_due() -> None:
    edge, over = reviewed(60), reviewed(-3)
    reviewed(61)
    reviewed(-3, 300)
    goods_in.supplier()
    gone = reviewed(-3)
    receive.save_supplier({"is_active": False}, by=make.user(), at=make.NOON, supplier=gone)

    assert rows_of("reviews") == [over, edge]
    found = [duty for duty in duties(timezone.localdate(), []) if "review" in duty.sentence]
    assert [(duty.code, duty.day) for duty in found] == [
        (str(supplier), timezone.localdate() + timedelta(days=days))
        for supplier, days in ((over, -3), (edge, 60))
    ]


def due_for_counting() -> None:
    make.lot(made_on=make.DAY - timedelta(days=400))


def round_under_way() -> None:
    shelf = counting.place(f"Shelf {Place.objects.count()}")
    counting.put(shelf, make.lot())
    counting.a_round(place=shelf)


def something_of_everything() -> None:
    kettle.batch()
    packing.run()
    sent_days_ago(8)
    make.lot(status=Status.QUARANTINE)
    below_zero()
    due_for_counting()
    round_under_way()
    rooms.complaint()
    dated(5)
    curing.soap(days_ago=8)
    reviewed(3)
    goods_in.certificate(goods_in.supplier(), [goods_in.material()], valid_to=timezone.localdate())


def test_today_takes_the_same_queries_for_any_number_of_rows(client: Client) -> None:
    client.force_login(make.user())
    counts = []
    for more in (1, 3):
        for _ in range(more):
            something_of_everything()
        with CaptureQueriesContext(connection) as seen:
            client.get(reverse("front:today"))
        counts.append(len(seen))

    assert counts[0] == counts[1]


@pytest.mark.parametrize("key", [watch.key for watch in WATCHES])
def test_list_of_today_is_shown_in_full_with_the_same_queries(client: Client, key: str) -> None:
    client.force_login(make.user())
    counts = []
    for more in (1, 3):
        for _ in range(more):
            something_of_everything()
        with CaptureQueriesContext(connection) as seen:
            answer = client.get(reverse("front:watch", args=[key]))
        counts.append(len(seen))

    assert counts[0] == counts[1]
    # A soap is a batch under way and a lot that waits, beside the others.
    both = key in ("under-way", "awaiting")
    assert len(answer.context["list"].page.object_list) == (8 if both else 4)


def test_list_of_today_of_no_such_name_is_not_in_the_book(client: Client) -> None:
    client.force_login(make.user())

    assert client.get(reverse("front:watch", args=["nothing"])).status_code == 404


def test_today_lists_open_complaints_and_when_a_serious_one_is_due(client: Client) -> None:
    rooms.complaint()
    serious = rooms.assessed(rooms.complaint(), outcome="treated")
    client.force_login(make.user())

    answer = client.get(reverse("front:today"))

    assert counts(answer)["complaints"] == "2"
    first = answer.context["duties"][0]
    assert (first.day, first.code) == (serious.report_due_on, serious.reference)
    assert rows_of("complaints")[0] == serious


def test_a_day_set_by_law_stands_before_one_that_is_over(client: Client) -> None:
    dated(-3)
    goods_in.certificate(
        goods_in.supplier(),
        [goods_in.material()],
        valid_to=timezone.localdate() + timedelta(days=2),
    )
    serious = rooms.assessed(rooms.complaint(), outcome="treated")
    client.force_login(make.user())

    answer = client.get(reverse("front:today"))

    found = answer.context["duties"]
    assert [one.is_statutory for one in found] == [True, False, False]
    assert found[0].code == serious.reference
    assert found[1].day < found[2].day
    assertContains(answer, 'class="duty tag stop"', count=1)


def test_what_the_law_was_told_in_time_is_no_duty_any_more(client: Client) -> None:
    serious = rooms.assessed(rooms.complaint(), outcome="treated")
    serious.reported_on = timezone.localdate()
    serious.save()
    client.force_login(make.user())

    assert client.get(reverse("front:today")).context["duties"] == []
