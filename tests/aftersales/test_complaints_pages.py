"""Complaints as people see them."""

import io
import re
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from PIL import Image
from pytest_django.asserts import assertContains, assertNotContains, assertRedirects

from tests import make
from tests.labels import build as labels
from tests.packing import build as packing
from tests.trace import build, rooms
from workshop.aftersales.models import Complaint, Outcome
from workshop.core import formatting
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.labels.models import LabelDesign

pytestmark = pytest.mark.django_db
NEW = "aftersales:new-complaint"
WINDOW = {"first": make.iso(-24), "last": make.iso(5), "act": "batch"}


def typed(**values: Any) -> dict[str, Any]:
    return {
        "channel": "email",
        "received_on": timezone.localdate().isoformat(),
        "nature": "skin",
        "severity": "major",
        "description": "Red hands after washing.",
        "token": new_token(),
        **values,
    }


def misread(code: str) -> str:
    return code[:2] + ("A" if code[2] != "A" else "B") + code[3:]


def photo(name: str) -> SimpleUploadedFile:
    out = io.BytesIO()
    Image.new("RGB", (4, 4)).save(out, "PNG")
    return SimpleUploadedFile(name, out.getvalue(), "image/png")


@pytest.fixture(autouse=True)
def media(settings: Any, tmp_path: Any) -> None:
    settings.MEDIA_ROOT = tmp_path


def test_packer_writes_a_complaint_down_with_two_photos(signed_in: Any) -> None:
    tins = build.packed((make.lot(), 10), units=5)
    files = [photo("front.png"), photo("back.png")]
    sent = typed(code_read=tins.shown_code, photos=files)

    answer = signed_in(Role.PACKER).post(reverse(NEW), sent, follow=True)

    found = Complaint.objects.get()
    assertContains(answer, f"Complaint {found} is logged: lot {tins}.")
    assertContains(answer, "Medical help comes first.")
    assert list(found.lots.all()) == [tins]
    assert [upload.name for upload in found.photos.order_by("pk")] == ["front.png", "back.png"]


def test_misread_code_offers_the_near_lot_and_keeps_what_was_typed(signed_in: Any) -> None:
    tins, client = build.packed((make.lot(), 10), units=5), signed_in(Role.PACKER)
    wrong = misread(tins.code)

    answer = client.post(reverse(NEW), typed(code_read=wrong))

    assertContains(answer, "Choose, or keep it as read.")
    assertContains(answer, f"{tins}, {tins.item}, made {make.shown()}")
    assertContains(answer, f'value="{wrong}"')
    assertContains(answer, "Red hands after washing.")
    assert not Complaint.objects.exists()
    client.post(reverse(NEW), typed(code_read=wrong, meant=tins.code))
    client.post(reverse(NEW), typed(code_read=wrong, meant="as read"))
    assert [(row.code_read, list(row.lots.all())) for row in Complaint.objects.order_by("pk")] == [
        (wrong, [tins]),
        (wrong, []),
    ]


def test_misread_code_may_be_typed_anew_without_choosing(signed_in: Any) -> None:
    """The browser must not insist on a choice that a right code makes needless."""
    tins, client = build.packed((make.lot(), 10), units=5), signed_in(Role.PACKER)

    answer = client.post(reverse(NEW), typed(code_read=misread(tins.code)))
    client.post(reverse(NEW), typed(code_read=tins.shown_code))

    choices = re.findall(r'<input type="radio"[^>]*name="meant"[^>]*>', answer.content.decode())
    assert len(choices) >= 2
    assert [choice for choice in choices if "required" in choice.split()] == []
    assert list(Complaint.objects.get().lots.all()) == [tins]


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ({"received_on": "2999-01-01"}, "That date is in the future."),
        ({"received_on": "31 Feb"}, "That is not a day of the calendar."),
        ({"description": " "}, "This field is required."),
        ({"nature": "owl"}, "owl is not one of the available choices."),
        ({"outcome": "owl"}, "owl is not one of the available choices."),
        ({"code_read": "x" * 61}, "Ensure this value has at most 60 characters"),
        ({"code_read": "a\x00b"}, "Null characters are not allowed."),
        ({"customer": "999"}, "That choice is not one of the available choices."),
        ({"meant": "zzz"}, "zzz is not one of the available choices."),
    ],
)
def test_odd_complaint_is_answered_beside_the_field(
    signed_in: Any, values: dict[str, str], sentence: str
) -> None:
    if "meant" in values:
        values = {**values, "code_read": misread(build.packed((make.lot(), 1), units=1).code)}

    answer = signed_in().post(reverse(NEW), typed(**values))

    assertContains(answer, sentence)
    assert not Complaint.objects.exists()


def test_wrong_file_is_refused_and_the_choice_asked_for_again(signed_in: Any) -> None:
    bad = SimpleUploadedFile("note.exe", b"MZ", "image/png")

    answer = signed_in().post(reverse(NEW), typed(photos=[photo("a.png"), bad]))

    assertContains(answer, "Only a PDF, a JPEG or a PNG picture can be handed in.")
    assertContains(answer, "choose the photos again")


def test_eleven_photos_are_too_many(signed_in: Any) -> None:
    files = [photo(f"{number}.png") for number in range(11)]

    assertContains(signed_in().post(reverse(NEW), typed(photos=files)), "at most 10 photos")


def test_photos_together_pass_the_terminator(signed_in: Any) -> None:
    large = SimpleUploadedFile("a.png", bytes(20 * 1024 * 1024), "image/png")

    answer = signed_in().post(reverse(NEW), typed(photos=[large, photo("b.png")]))

    assertContains(answer, "Together they are larger than 20 MB.")


def test_owner_assesses_answers_and_closes(signed_in: Any) -> None:
    tins, found, client = build.packed((make.lot(), 1), units=1), rooms.complaint(), signed_in()

    def send(what: str, **values: Any) -> Any:
        address = reverse("aftersales:complaint-act", args=[found.reference, what])
        return client.post(address, {"token": new_token(), **values}, follow=True)

    judged = {"findings": "Rancid", "severity": "major", "outcome": ""}
    wrong = send("assess", **judged, lots=f"{tins}\nnonsense")
    assertContains(wrong, "is not a lot code, a supplier")
    assertContains(send("assess", **judged, lots=str(tins)), f"lots {tins}")
    assertContains(send("answer", words="A new one is sent."), "A new one is sent.")
    assertContains(send("close", cause=""), "This field is required.")
    assertContains(send("close", cause="Old oil"), "with this cause: Old oil")
    assertContains(send("close", cause="Old oil"), "is closed; this cannot be done to it now.")
    assertContains(send("reopen", words="Another call"), "Another call")
    assert send("eat").status_code == 404


def test_serious_event_says_the_rule_the_day_and_who_has_the_last_word(signed_in: Any) -> None:
    found = rooms.complaint(outcome=Outcome.HOSPITAL)
    client = signed_in(Role.INSPECTOR)

    page = client.get(reverse("aftersales:complaint", args=[found.reference]))

    assertContains(page, "21 U.S.C. 364a asks for a report to the FDA within 15 business days")
    assertContains(page, "The authority has the last word.")
    assertContains(page, formatting.day(found.report_due_on))
    assertContains(page, f'<time datetime="{make.iso(months=72)}">')
    assertContains(page, f'<time datetime="{make.iso(months=36)}">')
    assertContains(client.get(reverse("aftersales:complaints")), "is a serious event:")


@pytest.mark.parametrize(
    ("sold", "said", "unsaid"),
    [
        # 21 U.S.C. 364a; Regulation (EC) 1223/2009, article 23, and as retained.
        (("eu",), ["1223/2009, article 23"], ["364a", "as retained in Great Britain"]),
        (("uk",), ["as retained in Great Britain, article 23"], ["364a"]),
        (("us",), ["364a"], ["1223/2009"]),
        (("us", "eu"), ["364a", "1223/2009, article 23"], ["as retained in Great Britain"]),
    ],
)
def test_serious_event_is_told_by_the_laws_of_the_product_s_markets_alone(
    signed_in: Any, sold: tuple[str, ...], said: list[str], unsaid: list[str]
) -> None:
    labels.workshop()
    product = packing.product()
    LabelDesign.objects.create(product=product, **{f"sold_in_{market}": True for market in sold})
    found = rooms.complaint(outcome=Outcome.HOSPITAL, product=product.item)

    page = signed_in(Role.INSPECTOR).get(reverse("aftersales:complaint", args=[found.reference]))

    for words in said:
        assertContains(page, words)
    for words in unsaid:
        assertNotContains(page, words)


def test_note_of_a_packer_is_added(signed_in: Any) -> None:
    found = rooms.complaint()
    address = reverse("aftersales:complaint-note", args=[found.reference])

    answer = signed_in(Role.PACKER).post(
        address, {"words": "They found the lid.", "token": new_token(), "photos": photo("l.png")}
    )

    assertRedirects(answer, reverse("aftersales:complaint", args=[found.reference]))
    assert found.photos.count() == 1


def test_list_is_narrowed_by_words_state_and_nature(signed_in: Any) -> None:
    rooms.complaint(description="Smells of fish", nature="smell")
    rooms.assessed(rooms.complaint(description="Half full", nature="underfill"))
    client, address = signed_in(), reverse("aftersales:complaints")

    def shown(**asked: str) -> list[str]:
        page = client.get(address, asked)
        return [row.reference for row in page.context["list"].page]

    assert shown() == [f"Q-{make.MONTH}-02", f"Q-{make.MONTH}-01"]
    assert shown(q="FISH") == [f"Q-{make.MONTH}-01"]
    assert shown(state="assessed") == [f"Q-{make.MONTH}-02"]
    assert shown(nature="smell") == [f"Q-{make.MONTH}-01"]
    assert shown(state="'", nature="%", page="x") == [
        f"Q-{make.MONTH}-02",
        f"Q-{make.MONTH}-01",
    ]
    assertContains(client.get(address, {"q": "owl"}), "Nothing in this list matches.")


@pytest.mark.parametrize("name", ["complaints", "shared", "trends", "complaint"])
def test_complaint_pages_take_the_same_queries_for_any_number_of_rows(
    signed_in: Any, name: str
) -> None:
    def complain() -> Complaint:
        salve = build.batch((make.lot(), 10), grams=10)
        return rooms.complaint(build.packed((salve, 5), units=5))

    client, found = signed_in(), complain()
    address = reverse(f"aftersales:{name}", args=[found.reference] if name == "complaint" else [])

    def queries() -> int:
        with CaptureQueriesContext(connection) as caught:
            assert client.get(address, WINDOW).status_code == 200
        return len(caught)

    queries()
    few = queries()
    for _ in range(4):
        found.lots.add(complain().lots.get())

    assert queries() == few


def test_shared_page_ranks_and_warns(signed_in: Any) -> None:
    oil = make.lot()
    client, address = signed_in(), reverse("aftersales:shared")

    def complain() -> None:
        rooms.complaint(build.packed((build.batch((oil, 10), grams=10), 5), units=5))

    complain()
    page = client.get(address, WINDOW)
    assertContains(page, "No lot is shared: complaints about 1 of 1")
    assertContains(page, "Only 1 batch is complained of")
    assertNotContains(page, "used this lot")
    complain()
    page = client.get(address, WINDOW)

    assertContains(page, "2 of 2 batches with complaints used this lot; 0 of 0 other batches did.")
    assertContains(page, "after allowing for all 1 lot behind the batches of this time")
    assertContains(page, reverse("aftersales:new-recall") + f"?lot={oil.code}")
    wrong = {"first": make.iso(-23), "last": make.iso(-24), "act": "batch"}
    assertContains(client.get(address, wrong), "This day is before the first one.")
    assertContains(client.get(address, {**wrong, "act": "owl"}), "owl is not one of")
    assertNotContains(client.get(address, {"first": "x"}), "used this lot")


def test_trends_page_offers_four_ways(signed_in: Any) -> None:
    rooms.complaint(at=timezone.now(), received_on=timezone.localdate())
    client, address = signed_in(), reverse("aftersales:trends")

    for by in ("nature", "product", "lot", "supplier-lot", "owl"):
        assertContains(client.get(address, {"by": by}), "1 complaint in the last twelve months")
