"""Complaints: written down, judged, answered, closed with a cause; what they share."""

from datetime import date, timedelta
from fractions import Fraction
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext

from tests import make
from tests.goods_in import build as goods_in
from tests.trace import build, rooms
from workshop.aftersales.complaints.common_causes import what_they_share
from workshop.aftersales.complaints.trends import trend
from workshop.aftersales.models import Complaint, ComplaintEvent, ComplaintState, Outcome
from workshop.aftersales.services import complaints
from workshop.core.database import triggers
from workshop.core.errors import ActionRefused
from workshop.core.saving.new_tokens import new_token
from workshop.ledger import services as ledger
from workshop.ledger.models import ItemKind, Lot, OperationKind, Status
from workshop.trace.lot.lot_read_from_tin import read_lot

pytestmark = pytest.mark.django_db
YEAR: dict[str, Any] = {"first": make.DAY - timedelta(days=365), "last": make.DAY}


def act(name: str, complaint: Complaint, words: str, **values: Any) -> ComplaintEvent:
    values.setdefault("token", new_token())
    service = getattr(complaints, name)
    event: ComplaintEvent = service(complaint, words, by=make.user(), at=make.NOON, **values)
    complaint.refresh_from_db()
    return event


def test_complaint_gets_a_reference_and_its_product_from_the_lot() -> None:
    tins = build.packed((make.lot(), 10), units=5)
    first, second = rooms.complaint(tins), rooms.complaint()

    assert (first.reference, second.reference) == (f"Q-{make.MONTH}-01", f"Q-{make.MONTH}-02")
    assert (first.product, second.product) == (tins.item, None)
    assert first.events.get().words == f"By telephone, received {make.shown()}. Lot {tins}."


def test_code_is_kept_as_it_was_read() -> None:
    found = rooms.complaint(code_read="7HW? smeared")

    assert found.code_read == "7HW? smeared"
    assert "Read from the tin: 7HW? smeared. No lot known." in found.events.get().words


def test_same_token_writes_one_complaint() -> None:
    token = new_token()

    assert rooms.complaint(token=token) == rooms.complaint(token=token)
    assert ComplaintEvent.objects.count() == 1


def test_complaint_of_tomorrow_is_refused_and_not_written() -> None:
    with pytest.raises(ActionRefused, match="That date is in the future"):
        rooms.complaint(received_on=make.DAY + timedelta(days=1))
    assert not Complaint.objects.exists()


def test_misread_code_finds_the_lot_it_was_meant_as() -> None:
    tins = build.packed((make.lot(), 10), units=5)
    wrong = tins.code[:2] + ("A" if tins.code[2] != "A" else "B") + tins.code[3:]

    assert read_lot(tins.shown_code.lower()).lot == tins
    assert tins in read_lot(wrong).near
    assert str(tins) in read_lot(wrong).sentence
    assert "is not a lot code" in read_lot("on the lid").sentence


def test_complaint_goes_from_open_to_closed_with_its_cause() -> None:
    found = rooms.complaint()
    rooms.assessed(found)
    act("answer", found, "A new tin is on its way.")
    act("close", found, "Stored in the sun at the shop.")

    assert (found.state, found.cause) == (ComplaintState.CLOSED, "Stored in the sun at the shop.")
    assert [event.step for event in found.events.all()] == [
        "logged",
        "assessed",
        "answered",
        "closed",
    ]


def test_complaint_is_not_closed_before_it_is_assessed_nor_without_a_cause() -> None:
    found = rooms.complaint()
    with pytest.raises(
        ActionRefused, match=f"Q-{make.MONTH}-01 is open; this cannot be done to it now"
    ):
        act("close", found, "Nothing found")
    rooms.assessed(found)
    with pytest.raises(ActionRefused, match="Name the cause, or say that none was found"):
        act("close", found, "  ")

    found.refresh_from_db()
    assert found.state == ComplaintState.ASSESSED


def test_assessment_needs_words_and_names_the_lots() -> None:
    tins = build.packed((make.lot(), 10), units=5)
    found = rooms.complaint()
    with pytest.raises(ActionRefused, match="Say what was found, done or said"):
        act("assess", found, "", severity="minor", outcome="", lots=[tins])
    assert not found.lots.exists()

    rooms.assessed(found, tins)

    assert list(found.lots.all()) == [tins]
    words = found.events.get(step="assessed").words
    assert words == f"The oil was rancid. (major, not serious, lots {tins})"


def test_closed_complaint_is_opened_again_with_a_reason_and_takes_notes() -> None:
    found = rooms.assessed(rooms.complaint())
    act("close", found, "None found")
    act("note", found, "Two more called.")
    with pytest.raises(ActionRefused, match="Say what was found"):
        act("reopen", found, "")
    act("reopen", found, "Two more called.")

    assert (found.state, found.cause) == (ComplaintState.ASSESSED, "")
    assert found.events.filter(words="None found").exists()


def test_act_sent_twice_is_written_once() -> None:
    found, token = rooms.complaint(), new_token()

    assert act("note", found, "Called back", token=token) == act(
        "note", found, "Called back", token=token
    )


def test_serious_event_is_due_in_fifteen_business_days_and_kept_six_years_or_three() -> None:
    """Friday 3 July 2026 is Independence Day as observed; day 15 is Friday 24 July 2026."""
    found = rooms.complaint(outcome=Outcome.HOSPITAL)
    assert list(Complaint.objects.to_report()) == [found]

    found.received_on = date(2026, 7, 3)  # fixed

    assert found.report_due_on == date(2026, 7, 24)  # fixed
    assert found.kept_until == date(2032, 7, 3)  # fixed
    assert found.kept_until_if_small == date(2029, 7, 3)  # fixed


def test_due_day_counts_the_holidays_of_both_years() -> None:
    """From Monday 21 December 2026: without Christmas and New Year's Day, Wednesday 13 January."""
    found = rooms.complaint(received_on=make.DAY, outcome=Outcome.DEATH)
    found.received_on = date(2026, 12, 21)  # fixed

    assert found.report_due_on == date(2027, 1, 13)  # fixed


def test_serious_event_is_reported_before_it_is_closed() -> None:
    found = rooms.assessed(rooms.complaint(), outcome=Outcome.INFECTION)
    with pytest.raises(ActionRefused, match="A serious event is reported to the authority before"):
        act("close", found, "The jar was opened in the shop.")
    with pytest.raises(ActionRefused, match=f"cannot be dated before {make.shown()}"):
        act("report", found, "", reported_on=make.DAY - timedelta(days=1))
    with pytest.raises(ActionRefused, match="in the future"):
        act("report", found, "", reported_on=make.DAY + timedelta(days=1))

    act("report", found, "Number 77", reported_on=make.DAY)
    act("close", found, "The jar was opened in the shop.")

    assert found.state == ComplaintState.CLOSED
    assert found.events.get(step="reported").words == f"On {make.shown()}. Number 77"


def test_only_a_serious_event_is_reported() -> None:
    with pytest.raises(ActionRefused, match="not marked as a serious event"):
        act("report", rooms.complaint(), "", reported_on=make.DAY)


def test_log_of_a_complaint_only_grows() -> None:
    rooms.complaint()

    with pytest.raises(IntegrityError, match="only ever added"), transaction.atomic():
        ComplaintEvent.objects.update(words="Nothing happened")
    with pytest.raises(IntegrityError, match="only ever added"), transaction.atomic():
        ComplaintEvent.objects.all().delete()


@pytest.mark.parametrize(
    "values",
    [
        {"channel": "owl"},
        {"outcome": "cross"},
        {"description": ""},
        {"state": "closed"},
        {"reported_on": make.DAY - timedelta(days=1)},
    ],
)
def test_complaint_table_keeps_its_rules(values: dict[str, Any]) -> None:
    found = rooms.complaint()

    with pytest.raises(IntegrityError), transaction.atomic():
        Complaint.objects.filter(pk=found.pk).update(**values)


@pytest.mark.parametrize("values", [{"step": "eaten", "words": "x"}, {"step": "noted"}])
def test_complaint_log_table_keeps_its_rules(values: dict[str, str]) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        ComplaintEvent.objects.create(
            complaint=rooms.complaint(), at=make.NOON, by=make.user(), token=new_token(), **values
        )


def test_lot_of_all_complained_batches_comes_first_even_through_an_infusion() -> None:
    """4 of 4 complained batches used the herb and none of 16 others: 1 in C(20, 4) = 4845."""
    herb, oil = make.lot(), make.lot(on_hand=100_000)
    infusion = build.batch((herb, 100), (oil, 500), grams=500, name="Infused oil")
    for number in range(20):
        first = infusion if number < 4 else oil
        salve = build.batch((first, 50), (oil, 10), grams=55, name=f"Salve {number}")
        tins = build.packed((salve, 50), units=5)
        if number < 4:
            rooms.complaint(tins)

    sharing = what_they_share(Complaint.objects.all(), **YEAR)

    assert (sharing.complained, sharing.compared, sharing.warnings) == (4, 20, [])
    ranked = [(row.lot, row.suspect.stands_out) for row in sharing.shared]
    assert dict(ranked) == {herb: True, infusion: True, oil: False}
    assert ranked[-1] == (oil, False)
    chances = {row.lot: 1 / row.suspect.chance for row in sharing.shared}
    assert chances == {herb: Fraction(4845), infusion: Fraction(4845), oil: Fraction(1)}
    assert sharing.shared[0].sentence == (
        "4 of 4 batches with complaints used this lot; 0 of 16 other batches did."
    )


def test_containers_are_compared_by_packing_runs() -> None:
    tin, other, salve = (
        make.lot(make.item(ItemKind.PACKAGING), on_hand=900),
        make.lot(make.item(ItemKind.PACKAGING), on_hand=900),
        build.batch((make.lot(), 100), grams=900),
    )
    for number in range(6):
        tins = build.packed((salve, 5), (tin if number < 3 else other, 5), units=5)
        if number < 3:
            rooms.complaint(tins)

    sharing = what_they_share(Complaint.objects.all(), **YEAR, act=OperationKind.PACKING)

    assert sharing.shared[0].lot == tin
    assert sharing.shared[0].sentence == (
        "3 of 3 packing runs with complaints used this lot; 0 of 3 other packing runs did."
    )
    assert sharing.warnings == [
        "There are only 6 packing runs to compare with. Compare a longer time if you can."
    ]


def test_one_product_is_compared_with_its_own_batches_only() -> None:
    bad, good, herb = make.lot(), make.lot(), make.lot()
    for number in range(6):
        salve = build.batch((bad if number < 3 else good, 5), (herb, 5), grams=10)
        tins = build.packed((salve, 10), units=2)
        if number < 3:
            rooms.complaint(tins)
    other = build.batch((good, 5), grams=5, name="Foot cream")
    build.run(
        OperationKind.PACKING, [(other, 5)], [(build.product("Foot cream"), 1)], by=make.user()
    )
    asked = {"complaints": Complaint.objects.all(), **YEAR}

    all_, own = what_they_share(**asked), what_they_share(**asked, product=build.product())
    runs = what_they_share(**asked, product=build.product(), act=OperationKind.PACKING)

    assert (all_.compared, own.compared, runs.compared) == (7, 6, 6)
    herbs = {row.lot: row.suspect.batches_with for row in own.shared}
    assert herbs == {bad: 3, herb: 6}


def test_lot_of_one_complained_batch_is_not_shared_and_every_lot_of_the_window_is_counted() -> None:
    """A first complaint shares with nothing, though its herb went into no other batch."""
    oil = make.lot(on_hand=100_000)
    for number in range(25):
        salve = build.batch((make.lot(), 5), (oil, 5), grams=10)
        tins = build.packed((salve, 10), units=5)
        if not number:
            rooms.complaint(tins)

    sharing = what_they_share(Complaint.objects.all(), **YEAR)

    assert (sharing.complained, sharing.compared, sharing.looked_at) == (1, 25, 26)
    assert sharing.shared == []


def test_sharing_says_what_it_could_not_count() -> None:
    build.packed((build.batch((make.lot(), 10), grams=10), 5), units=5)
    rooms.complaint()

    sharing = what_they_share(Complaint.objects.all(), **YEAR)

    assert (sharing.compared, sharing.complained, sharing.unlinked) == (1, 0, 1)
    long_ago = make.day(-2520)
    assert what_they_share(Complaint.objects.all(), first=long_ago, last=long_ago).compared == 0


def test_sharing_and_trends_take_the_same_queries_for_many_complaints() -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as caught:
            what_they_share(Complaint.objects.all(), **YEAR)
            for way in ("nature", "product", "lot", "supplier-lot"):
                trend(way, make.DAY)
        return len(caught)

    def complain() -> None:
        salve = build.batch((make.lot(), 10), grams=10)
        rooms.complaint(build.packed((salve, 5), units=5))

    complain()
    few = asked()
    for _ in range(12):
        complain()

    assert asked() == few


def test_trends_count_by_month_and_by_what_is_behind() -> None:
    oil = make.lot()
    tins = [
        build.packed((build.batch((oil, 10), grams=10), 5), units=5),
        build.packed((build.batch((oil, 10), grams=10), 5), units=5),
    ]
    triggers.remove(connection)
    Lot.objects.filter(pk__in=[lot.pk for lot in tins]).update(made_on=make.day(months=-3))
    tins = list(Lot.objects.filter(pk__in=[lot.pk for lot in tins]).order_by("pk"))
    rooms.complaint(tins[0], nature="skin")
    rooms.complaint(*tins, received_on=make.day(months=-2))
    rooms.complaint(received_on=make.day(months=-12))

    natures, lots = trend("nature", make.DAY), trend("lot", make.DAY)

    assert natures.months[0] == f"{make.day(months=-11):%b}"
    assert natures.months[-1] == f"{make.DAY:%b}"
    assert [(row.name, row.counts[-3:]) for row in natures.rows] == [
        ("skin reaction", [0, 0, 1]),
        ("smell or colour", [1, 0, 0]),
    ]
    assert [(row.name.split(",")[0], row.total) for row in lots.rows] == [
        (str(tins[0]), 2),
        (str(tins[1]), 1),
    ]
    assert (lots.sums[-3:], lots.total) == ([1, 0, 1], 2)


def test_trends_by_supplier_lot_reach_through_the_infusion() -> None:
    oil = goods_in.line(goods_in.material("Olive oil"), supplier_lot="OLI26-77")
    ledger.set_lot_status(oil.lot, Status.RELEASED, by=make.user(), at=make.NOON)
    infusion = build.batch((oil.lot, 100), grams=100, name="Infused oil")
    tins = build.packed((build.batch((infusion, 50), grams=50), 50), units=5)
    rooms.complaint(tins)
    rooms.complaint()

    rows = trend("supplier-lot", make.DAY).rows

    assert [(row.name, row.total) for row in rows] == [
        (f"OLI26-77, Olive oil, {oil.receipt.supplier}", 1),
        ("not known", 1),
    ]
