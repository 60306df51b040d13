"""Recalls and drills as people see them, their letters and lists."""

import csv
import io
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader
from pytest_django.asserts import assertContains, assertNotContains

from tests import make
from tests.dispatch import build as dispatch
from tests.labels import build as labels
from tests.labels import paper
from tests.trace import build, rooms
from workshop.aftersales.models import Recall
from workshop.core.formatting import THIN
from workshop.core.models import Role, Workshop
from workshop.core.saving.new_tokens import new_token
from workshop.ledger.models import Status

pytestmark = pytest.mark.django_db


def address(name: str, recall: Recall, *more: Any) -> str:
    return reverse(f"aftersales:{name}", args=[recall.reference, *more])


def terms(**values: Any) -> dict[str, Any]:
    usual = {"hazard": "", "depth": "retail", "level": "A", "remedy": "The price is credited"}
    return {**usual, "notice_on": make.DAY.isoformat(), "token": new_token(), **values}


def test_page_before_a_recall_says_what_it_would_reach(signed_in: Any) -> None:
    house = rooms.House()

    page = signed_in().get(reverse("aftersales:new-recall"), {"lot": house.wax.shown_code})

    assertContains(page, "318 units with 2 customers, 162 finished on hand")
    assertContains(page, "3 lots still in the house")
    assertContains(page, "+1 555 0100")
    house.tins.refresh_from_db()
    assert house.tins.status == Status.RELEASED


def test_owner_begins_a_recall_from_a_complaint(signed_in: Any) -> None:
    house = rooms.House()
    complaint = rooms.complaint(house.tins)
    begin = f"{reverse('aftersales:new-recall')}?lot={house.wax.code}&complaint={complaint}"

    answer = signed_in().post(begin, terms(lot=house.wax.code, reason="Rancid"), follow=True)

    assertContains(answer, f"Recall {Recall.objects.get()} of lot")
    assertContains(answer, f"{house.wax}, {house.salve}, {house.tins}")
    assertContains(answer, "level A, every customer: at least 2 of 2 customers;")
    assert list(complaint.recalls.all()) == [Recall.objects.get()]


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ({"lot": "nonsense"}, "is not a lot code"),
        ({"lot": ""}, "This field is required."),
        ({"reason": " "}, "This field is required."),
        ({"hazard": "9"}, "9 is not one of the available choices."),
        ({"reason": "a\x00"}, "Null characters are not allowed."),
    ],
)
def test_odd_recall_is_answered_beside_the_field(
    signed_in: Any, values: dict[str, str], sentence: str
) -> None:
    sent = terms(**{"lot": make.lot().code, "reason": "Rancid", **values})

    assertContains(signed_in().post(reverse("aftersales:new-recall"), sent), sentence)
    assert not Recall.objects.exists()


def test_stock_recovery_is_named_and_has_no_letters(signed_in: Any) -> None:
    labels.workshop()
    recall, client = rooms.recall(build.packed((make.lot(), 10), units=5)), signed_in()

    page = client.get(address("recall", recall))

    assertContains(page, "stock recovery: all of it is still in our own hands (21 CFR 7.3)")
    assertNotContains(page, "Letters to all customers")
    assert client.get(address("recall-letters", recall)).status_code == 404


def test_owner_logs_a_call_and_closes(signed_in: Any) -> None:
    house, client = rooms.House(), signed_in()
    recall = rooms.recall(house.tins, at=timezone.now())
    call = address("recall-customer", recall, house.shop.pk)
    answered = {"what": "answered", "means": "telephone", "destroyed": "301"}
    answered["words"] = "All of it was written off."

    wrong = client.post(call, {**answered, "token": new_token()})
    assertContains(wrong, "Only 300 units are still with Ostrell Larder; together these are 301.")
    assertContains(wrong, 'value="301"')
    answered["destroyed"] = "300"
    page = client.post(call, {**answered, "token": new_token()}, follow=True)
    assertContains(page, "1 notified, 1 responded")

    found = {f"found_{house.tins.pk}": "160", "cause": "Old oil", "token": new_token()}
    ended = client.post(address("close-recall", recall), found, follow=True)
    assertContains(ended, "2 units of 480 not found anywhere.")
    assertContains(ended, f"99.58{THIN}% accounted for")  # 478 of 480
    assertContains(ended, f"Recall {recall} is closed after 0:00:0")
    assertContains(ended, f"99.58{THIN}% of the finished units are accounted for, 94.34{THIN}%")


def test_closing_form_keeps_what_was_typed(signed_in: Any) -> None:
    house = rooms.House()
    recall = rooms.recall(house.tins)

    answer = signed_in().post(
        address("close-recall", recall), {f"found_{house.tins.pk}": "half", "cause": "Old oil"}
    )

    assertContains(answer, "&quot;half&quot; is not a number of pieces.")
    assertContains(answer, "Old oil")
    recall.refresh_from_db()
    assert not recall.is_closed


def test_drill_shows_the_clock_and_ends_with_a_report(signed_in: Any) -> None:
    house, client = rooms.House(), signed_in()
    begun = client.post(
        reverse("aftersales:new-drill"),
        {"lot": house.wax.shown_code, "reason": "Drill", "token": new_token()},
        follow=True,
    )
    drill = Recall.objects.get()
    assertContains(begun, "data-elapsed=")
    assertContains(begun, "js/drill.js")
    assertContains(begun, "Nothing is on hold, nobody is written to.")

    ended = client.post(address("close-recall", drill), {"token": new_token()}, follow=True)

    assertContains(ended, f"100.00{THIN}% of the finished units accounted for")
    assertContains(ended, f"Drill {drill} is closed after 0:00:0")
    assertContains(ended, "Nobody looked at the shelf for")
    assertContains(client.get(reverse("aftersales:drills")), drill.reference)


def test_drill_picks_any_lot_by_chance(signed_in: Any) -> None:
    client, sent = signed_in(), {"reason": "Drill", "token": new_token()}
    assertContains(
        client.post(reverse("aftersales:new-drill"), sent), "There is no lot in the book"
    )
    lot = make.lot()
    client.post(reverse("aftersales:new-drill"), sent)

    assert Recall.objects.get().lot == lot


def test_lists_of_recalls_and_drills_are_apart_and_newest_first(signed_in: Any) -> None:
    lots = [make.lot() for _ in range(3)]
    for lot in lots[:2]:
        rooms.recall(lot)
    rooms.recall(lots[2], is_drill=True)
    client = signed_in(Role.INSPECTOR)

    def shown(name: str) -> list[str]:
        page = client.get(reverse(f"aftersales:{name}"))
        return [row.reference for row in page.context["list"].page]

    assert shown("recalls") == [f"F-{make.MONTH}-02", f"F-{make.MONTH}-01"]
    assert shown("drills") == [f"F-{make.MONTH}-03"]


@pytest.mark.parametrize("name", ["recalls", "drills", "recall", "report"])
def test_recall_pages_take_the_same_queries_for_any_number_of_rows(
    signed_in: Any, name: str
) -> None:
    house, client = rooms.House(), signed_in()
    recall = rooms.recall(house.wax)
    rooms.close(rooms.recall(make.lot(), is_drill=True))
    page = {"recall": address("recall", recall), "report": address("recall-report", recall)}
    at = page.get(name) or reverse(f"aftersales:{name}")

    def queries() -> int:
        with CaptureQueriesContext(connection) as caught:
            assert client.get(at).status_code == 200
        return len(caught)

    queries()
    few = queries()
    for number in range(4):
        tins = build.packed((house.salve, 1), units=2)
        dispatch.sent((tins, 1), to=dispatch.customer(f"Shop {number}"))
        rooms.close(rooms.recall(tins, is_drill=bool(number % 2)))

    assert queries() == few


def test_long_lists_have_pages_of_their_own(signed_in: Any) -> None:
    recall, client = rooms.recall(rooms.House().wax), signed_in()

    for section, words in (("lots", "162"), ("customers", "Tollen Baths")):
        assertContains(client.get(address("recall-rows", recall, section)), words)
    assert client.get(address("recall-rows", recall, "owls")).status_code == 404


def test_hold_button_holds_what_was_released_since(signed_in: Any) -> None:
    house, client = rooms.House(), signed_in()
    recall = rooms.recall(house.tins)
    lot = house.tins
    make.put(lot, Status.RELEASED)

    assertContains(client.get(address("recall", recall)), "in the house and not on hold:")
    client.post(address("recall-hold", recall), {"token": "a\x00"})

    lot.refresh_from_db()
    assert lot.status == Status.ON_HOLD


def test_letters_have_one_page_a_customer_with_what_they_must_know(signed_in: Any) -> None:
    """Identity, lot, reason and hazard, what to do, and a way to answer: 21 CFR 7.49(c),
    from memory."""
    Workshop.objects.create(pk=1, name="Wren Hollow Works", address="1 Lane", contact="+1 555 0000")
    house = rooms.House()
    recall = rooms.recall(house.wax, hazard="2", depth="consumer", remedy="The price is credited")

    answer = signed_in().get(address("recall-letters", recall))

    pages = PdfReader(io.BytesIO(answer.content)).pages
    texts = [" ".join(page.extract_text().split()) for page in pages]
    assert len(texts) == 2
    for words in (
        f"URGENT: PRODUCT RECALL F-{make.MONTH}-01",
        "Ostrell Larder",
        "Hand salve 60 g",
        house.tins.shown_code,
        "300",
        "It may be rancid",
        "What you get for each of these units: The price is credited.",
        "page 1 of 1",
        "Stop selling and using these lots at once.",
        "consumers as well",
        "reach us at +1 555 0000",
        f"Answer to F-{make.MONTH}-01",
    ):
        assert words in texts[0]
    assert "Tollen Baths" in texts[1]


def test_letters_of_a_drill_say_so(signed_in: Any) -> None:
    drill = rooms.recall(rooms.House().wax, is_drill=True)

    letters = signed_in().get(address("recall-letters", drill))

    assert "DRILL. This letter is not sent." in paper.text(letters.content)


def test_addresses_for_a_mail_merge_run_no_formula(signed_in: Any) -> None:
    house = rooms.House()
    recall = rooms.recall(house.tins)

    answer = signed_in().get(address("recall-merge", recall))

    rows = list(csv.DictReader(io.StringIO(answer.content.decode())))
    assert [(row["customer"], row["still out"]) for row in rows] == [
        ("Ostrell Larder", "300"),
        ("Tollen Baths", "18"),
    ]
    assert (rows[0]["telephone"], rows[0]["address"]) == ("+1 555 0100", "3 Quay\nOstrell")
    assert answer["Content-Disposition"] == (
        f'attachment; filename="F-{make.MONTH}-01-customers.csv"'
    )


def test_report_prints_what_was_left_open(signed_in: Any) -> None:
    house = rooms.House()
    closed = rooms.close(rooms.recall(house.tins), {house.tins: 157})

    report = paper.text(signed_in().get(address("recall-report", closed)).content)

    assert "98.96 % are accounted for" in report
    assert "5 units of 480 not found anywhere." in report
    assert "Ostrell Larder" in report


def test_inspector_reads_but_finds_no_act(signed_in: Any) -> None:
    house = rooms.House()
    recall, client = rooms.recall(house.tins), signed_in(Role.INSPECTOR)

    assertNotContains(client.get(address("recall", recall)), "Close with the account")
    assertNotContains(client.get(address("recall-customer", recall, house.shop.pk)), "What came of")
    assert client.get(address("recall-customer", recall, 999)).status_code == 404


def test_terms_and_notes_go_into_the_log(signed_in: Any) -> None:
    recall, client = rooms.recall(rooms.House().tins), signed_in()

    changed = client.post(
        address("recall-terms", recall), terms(hazard="1", words="By letter"), follow=True
    )
    assertContains(changed, "Class I: serious harm")
    noted = {"words": "The press called.", "token": new_token()}
    assertContains(client.post(address("recall-note", recall), noted, follow=True), "press called")


def test_scan_box_leads_to_complaints_recalls_and_drills(signed_in: Any) -> None:
    house, client = rooms.House(), signed_in()
    complaint, recall = rooms.complaint(house.tins), rooms.recall(house.tins)

    for typed, name, row in (
        (f"q {make.MONTH} 01", "complaint", complaint),
        (f"F-{make.MONTH}-01", "recall", recall),
    ):
        answer = client.get(reverse("front:scan"), {"q": typed})
        assert answer["Location"] == reverse(f"aftersales:{name}", args=[row.reference])


def test_one_enter_writes_nothing_into_the_log(signed_in: Any) -> None:
    """Nothing is chosen beforehand, and an entry without words is refused."""
    house, client = rooms.House(), signed_in()
    recall = rooms.recall(house.tins)
    call = address("recall-customer", recall, house.shop.pk)

    form = client.get(call).context["form"]
    sent = {name: form[name].value() or "" for name in form.fields}
    assert {name: value for name, value in sent.items() if value} == {"token": sent["token"]}
    answer = client.post(call, sent)

    for sentence in (
        "Say whether they were told, not reached, or answered.",
        "Say how: by telephone, e-mail, letter or in person.",
        "Write down what was said, or how it was tried.",
    ):
        assertContains(answer, sentence)
    blank = {**sent, "what": "told", "means": "telephone", "words": " \n"}
    assertContains(client.post(call, blank), "Write down what was said, or how it was tried.")
    assert not recall.entries.filter(customer__isnull=False).exists()


def test_customer_who_stands_for_many_is_reached_as_far_as_its_buyers_are(signed_in: Any) -> None:
    """300 of 318 units out went to a web shop; the buyers of 280 are written to: 298 of 318."""
    house, client = rooms.House(), signed_in()
    house.stands_for_many(buyers_named=41)
    recall = rooms.recall(house.tins)
    house.talk(recall, house.spa, "told")
    call = address("recall-customer", recall, house.shop.pk)
    assertContains(client.get(call), "41 can be named")
    told = {"what": "told", "means": "email", "words": "Written to by their orders."}

    wrong = client.post(call, {**told, "buyers_units": "301", "token": new_token()})
    page = client.post(call, {**told, "buyers_units": "280", "token": new_token()}, follow=True)

    assertContains(wrong, "Only 300 units are still with buyers of Ostrell Larder.")
    assertContains(page, "those of 20 units not notified")
    assertContains(page, "notified in part")
    assertContains(page, f"95.83{THIN}% of 480 finished units")  # 460 of 480
    assertContains(page, f"93.71{THIN}%: the holders of 298 of 318 units")
    found = {f"found_{house.tins.pk}": "162", "cause": "Old oil", "token": new_token()}
    ended = client.post(address("close-recall", recall), found, follow=True)
    assertContains(ended, "of 300 units still out, the buyers of 20 are not notified.")
    listed = client.get(reverse("aftersales:recalls"))
    assertContains(listed, ">95.83</div></td>")
    assertContains(listed, ">93.71</div></td>")
    report = paper.text(client.get(address("recall-report", recall)).content)
    assert "95.83 % are accounted for; of 318 units still out 93.71 % are reached" in report


def test_drill_asks_for_the_list_of_buyers(signed_in: Any) -> None:
    house, client = rooms.House(), signed_in()
    house.stands_for_many()
    drill = rooms.recall(house.tins, is_drill=True)
    call = address("recall-customer", drill, house.shop.pk)
    assertContains(client.get(call), "none of them can be named: there is no list")
    assertContains(
        client.get(address("recall", drill)), f"5.66{THIN}%: the holders of 18 of 318 units"
    )

    listed = {"what": "listed", "words": "The shop's export of orders.", "buyers_units": "300"}
    page = client.post(call, {**listed, "token": new_token()}, follow=True)

    assertContains(page, f"100.00{THIN}%: the holders of 318 of 318 units")
    assertContains(page, "Buyers of 300 units named.")
    assertNotContains(client.get(address("recall-customer", drill, house.spa.pk)), "on the list")
