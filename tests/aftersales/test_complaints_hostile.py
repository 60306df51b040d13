"""Complaints with odd days, codes read wrongly in every way, and files that are no photos."""

import io
from datetime import timedelta
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image
from pytest_django.asserts import assertContains

from tests import make
from tests.aftersales.test_complaints_pages import NEW, media, typed  # noqa: F401 -- a fixture
from tests.trace import build, rooms
from workshop.aftersales.models import Complaint, ComplaintEvent
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.trace.lot.lot_read_from_tin import read_lot

pytestmark = pytest.mark.django_db
DAY_BEFORE = make.DAY - timedelta(days=1)


def tins() -> Any:
    return build.packed((make.lot(), 10), units=5)


def test_complaint_before_the_lot_was_made_is_refused(signed_in: Any) -> None:
    lot = tins()

    with pytest.raises(
        ActionRefused, match=f"Lot {lot} was made on {make.shown()}, after the complaint"
    ):
        rooms.complaint(lot, received_on=DAY_BEFORE)
    answer = signed_in(Role.PACKER).post(
        reverse(NEW), typed(code_read=lot.shown_code, received_on=DAY_BEFORE.isoformat())
    )

    assertContains(
        answer, f"after the complaint came on {make.shown(-1)}. Check the day and the code."
    )
    assertContains(answer, f'value="{lot.shown_code}"')
    assert Complaint.objects.count() == 0


def test_lot_made_after_the_complaint_is_not_named_by_the_assessment() -> None:
    found = rooms.complaint(received_on=DAY_BEFORE)

    with pytest.raises(ActionRefused) as refused:
        rooms.assessed(found, tins())

    assert refused.value.field == "lots"
    assert ComplaintEvent.objects.filter(step="assessed").count() == 0


@pytest.mark.parametrize("day", ["1989-12-31", "0001-01-01", "1999-12-31"])
def test_day_of_another_age_is_refused(signed_in: Any, day: str) -> None:
    answer = signed_in(Role.PACKER).post(reverse(NEW), typed(received_on=day))

    assertContains(answer, "Check the year.")
    assert Complaint.objects.count() == 0


def test_code_is_found_however_it_is_spaced_and_cased() -> None:
    lot = tins()
    code = lot.code

    for text in (
        code.lower(),
        f" {code[:4]} {code[4:]} ",
        f"{code[:4]}\u2013{code[4:]}",
        ".".join(code),
        f"{code[:4]}-{code[4:]}\n",
    ):
        assert read_lot(text).lot == lot


def test_code_with_two_neighbours_swapped_or_one_wrong_or_missing_is_offered() -> None:
    lot = tins()
    code = lot.code
    swapped = [code[:n] + code[n + 1] + code[n] + code[n + 2 :] for n in range(6)]
    missing = [code[:n] + code[n + 1 :] for n in range(7)]
    doubled = [code[:n] + code[n] + code[n:] for n in range(7)]
    misread = [code[:n] + look + code[n + 1 :] for n in range(7) for look in "0O1IL"]

    for text in (*swapped, *missing, *doubled, *misread):
        reading = read_lot(text)
        assert lot in (reading.lot, *reading.near), text


def picture(kind: str, size: tuple[int, int] = (8, 8)) -> bytes:
    out = io.BytesIO()
    Image.new("1" if size[0] > 100 else "RGB", size).save(out, kind)
    return out.getvalue()


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "The submitted file is empty."),
        (b"<svg onload='alert(1)'/>", "Only a PDF, a JPEG or a PNG picture can be handed in."),
        (b"MZ\x90\x00" + bytes(99), "Only a PDF, a JPEG or a PNG picture can be handed in."),
        (picture("GIF"), "Only a PDF, a JPEG or a PNG picture can be handed in."),
        (picture("PNG", (10_000, 6_000)), "The picture has more than 25 million dots."),
    ],
    ids=["empty", "svg", "program", "gif", "60 million dots"],
)
def test_photo_that_is_none_is_refused_and_what_was_typed_kept(
    signed_in: Any, content: bytes, sentence: str
) -> None:
    file = SimpleUploadedFile("tin.jpg", content, "image/jpeg")

    answer = signed_in(Role.PACKER).post(reverse(NEW), typed(photos=[file]))

    assertContains(answer, sentence)
    assertContains(answer, "Red hands after washing.")
    assert Complaint.objects.count() == 0


def test_photo_of_a_telephone_and_a_png_named_jpg_are_kept_as_what_they_are(signed_in: Any) -> None:
    out = io.BytesIO()
    whole = Image.new("RGB", (8, 8))
    whole.save(out, "MPO", save_all=True, append_images=[whole])
    files = [
        SimpleUploadedFile("one.jpg", out.getvalue(), "image/jpeg"),
        SimpleUploadedFile("two.jpg", picture("PNG"), "image/jpeg"),
    ]

    signed_in(Role.PACKER).post(reverse(NEW), typed(photos=files))

    kept = Complaint.objects.get().photos.order_by("pk")
    assert [(photo.name, photo.content_type) for photo in kept] == [
        ("one.jpg", "image/jpeg"),
        ("two.png", "image/png"),
    ]


def test_form_of_one_complaint_sent_for_another_is_refused(signed_in: Any) -> None:
    client, (first, second) = signed_in(Role.PACKER), (rooms.complaint(), rooms.complaint())
    note = {"words": "Asked for the tin.", "token": "one form"}

    client.post(reverse("aftersales:complaint-note", args=[first.reference]), note)
    again = client.post(reverse("aftersales:complaint-note", args=[second.reference]), note)
    new = client.post(reverse(NEW), typed(token="one form"))

    for answer in (again, new):
        assertContains(answer, "This form was already sent with other figures")
    assert ComplaintEvent.objects.filter(step="noted").count() == 1
    assert Complaint.objects.count() == 2
