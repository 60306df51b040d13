"""Photos and timers of a batch, and the limits on the skin."""

import io
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from PIL import Image
from pypdf import PdfReader
from pytest_django.asserts import assertContains, assertNotContains

from tests import make
from tests.kettle import build
from workshop.core.errors import ActionRefused
from workshop.core.models import Role, User
from workshop.core.saving.new_tokens import new_token
from workshop.kettle import services
from workshop.kettle.models import Batch, Check, Photo, Timer
from workshop.materials.models import UseLimit

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _media(settings: Any, tmp_path: Any) -> None:
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def maker(client: Client) -> User:
    person = make.user(Role.MAKER)
    client.force_login(person)
    return person


def address(batch: Batch, name: str, *more: Any) -> str:
    return reverse(f"kettle:{name}", args=[batch.operation.reference, *more])


def melting() -> Batch:
    steps: list[dict[str, Any]] = [{"text": "Melt the wax", "minutes": 20}, {"text": "Stir"}]
    return build.batch(build.version(steps=steps), at=timezone.now() - timedelta(hours=2))


def picture(kind: str = "JPEG", **values: Any) -> SimpleUploadedFile:
    held = io.BytesIO()
    Image.new("RGB", (40, 30), "green").save(held, kind, **values)
    return SimpleUploadedFile("melt.jpg", held.getvalue(), "image/jpeg")


def sent(file: SimpleUploadedFile, **values: Any) -> dict[str, Any]:
    return {"photo": file, "shows": "the melt is clear", "token": new_token(), **values}


def test_photo_is_kept_with_what_it_shows_and_without_its_metadata(
    client: Client, maker: User
) -> None:
    batch, exif = melting(), Image.Exif()
    exif[0x010E] = "taken at home"

    client.post(address(batch, "photo"), sent(picture(exif=exif)))

    photo = Photo.objects.get()
    with photo.upload.file.open() as file:
        assert dict(Image.open(file).getexif()) == {}
    assert (photo.shows, photo.upload.uploaded_by) == ("the melt is clear", maker)


def test_photo_stands_in_the_record_on_page_and_paper(client: Client, maker: User) -> None:
    batch = melting()
    client.post(address(batch, "photo"), sent(picture()))
    photo = Photo.objects.get()

    page = client.get(address(batch, "batch"))
    paper = client.get(address(batch, "paper")).content

    assertContains(page, reverse("core:file", args=[photo.upload.pk]))
    text = " ".join(sheet.extract_text() for sheet in PdfReader(io.BytesIO(paper)).pages)
    assert "the melt is clear" in " ".join(text.split())


@pytest.mark.parametrize(
    ("file", "sentence"),
    [
        (SimpleUploadedFile("a.jpg", b"no picture"), "Only a PDF, a JPEG or a PNG picture"),
        (SimpleUploadedFile("a.jpg", b""), "The submitted file is empty."),
        (SimpleUploadedFile("a.jpg", b"x" * (10 * 1024 * 1024 + 1)), "larger than 10 MB"),
    ],
)
def test_what_is_no_photo_is_refused_with_a_sentence(
    client: Client, maker: User, file: SimpleUploadedFile, sentence: str
) -> None:
    response = client.post(address(melting(), "photo"), sent(file))

    assertContains(response, sentence)
    assert not Photo.objects.exists()


def test_photo_sent_again_is_kept_once(client: Client, maker: User) -> None:
    batch, token = melting(), new_token()

    for _ in range(2):
        client.post(address(batch, "photo"), sent(picture(), token=token))

    assert Photo.objects.count() == 1


def start(batch: Batch, *, minutes: int = 20, at: Any = None, **values: Any) -> Timer:
    return services.start_timer(
        batch,
        name="Melt the wax",
        minutes=minutes,
        by=make.user(Role.MAKER),
        at=at or timezone.now(),
        token=new_token(),
        **values,
    )


def end(timer: Timer, *, at: Any, note: str = "") -> Timer:
    return services.end_timer(timer, note=note, by=build.owner(), at=at, token=new_token())


def test_timer_of_a_step_runs_for_its_minutes(client: Client, maker: User) -> None:
    batch = melting()
    step = batch.version.steps.all()[0]

    response = client.post(
        address(batch, "timer"), {"step": step.pk, "token": new_token()}, follow=True
    )

    timer = Timer.objects.get()
    assert (timer.name, timer.minutes) == ("Melt the wax", 20)
    assert timer.due_at - timer.started_at == timedelta(minutes=20)
    assertContains(response, "Melt the wax runs for 20 min, until")


def test_running_timer_comes_with_the_state_of_the_weigh_up(client: Client, maker: User) -> None:
    batch = melting()
    timer = start(batch)

    state = client.get(address(batch, "weigh"), headers={"accept": "application/json"}).json()

    assert state["state"]["timers"] == [
        {
            "href": address(batch, "end-timer", timer.pk),
            "name": "Melt the wax",
            "due": timer.due_at.isoformat(),
        }
    ]


def test_running_timer_is_on_the_page_of_the_steps_until_it_is_ended(
    client: Client, maker: User
) -> None:
    batch = melting()
    timer = start(batch)
    assertContains(client.get(address(batch, "check")), "20 min, due")

    client.post(address(batch, "end-timer", timer.pk), {"token": new_token()})

    assertNotContains(client.get(address(batch, "check")), "20 min, due")


def test_ended_timer_becomes_a_check_of_its_step() -> None:
    batch = melting()
    step, began = batch.version.steps.all()[0], timezone.now() - timedelta(minutes=30)
    timer = start(batch, step=step, at=began)

    end(timer, at=began + timedelta(minutes=21, seconds=30))

    check = Check.objects.get()
    assert (check.step, check.minutes, check.is_within) == (step, Decimal("21.5"), True)


def test_timer_ended_too_early_needs_a_note_and_runs_on_without_one() -> None:
    batch = melting()
    began = timezone.now() - timedelta(minutes=5)
    timer = start(batch, step=batch.version.steps.all()[0], at=began)

    with pytest.raises(ActionRefused, match="It is outside the limits of the step"):
        end(timer, at=timezone.now())
    assert Timer.objects.running().get() == timer

    end(timer, at=timezone.now(), note="all was clear")
    assert Check.objects.get().is_within is False


def test_second_timer_of_one_step_is_refused() -> None:
    batch = melting()
    step = batch.version.steps.all()[0]
    start(batch, step=step)

    with pytest.raises(ActionRefused, match="The timer of this step has been running since"):
        start(batch, step=step)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({}, "Give the minutes."),
        ({"minutes": "0"}, "It must be at least 1."),
        ({"minutes": "soon"}, "“soon” is not a number."),
        ({"minutes": "99999"}, "It must be at most 10000."),
        ({"step": "999999", "minutes": "3"}, "Select a valid choice."),
    ],
)
def test_timer_explains_bad_input(
    client: Client, maker: User, typed: dict[str, str], sentence: str
) -> None:
    response = client.post(address(melting(), "timer"), {"token": new_token(), **typed})

    assertContains(response, sentence)
    assert not Timer.objects.exists()


def test_owner_enters_a_limit_on_the_skin(client: Client) -> None:
    client.force_login(build.owner())
    item = make.item(name="Mint oil")

    response = client.post(
        reverse("materials:use-limits"),
        {"item": item.pk, "most": "1,5", "source": "certificate of the supplier"},
        follow=True,
    )

    assertContains(response, "At most 1.5 % of Mint oil.")
    assert UseLimit.objects.get().most == Decimal("1.5")


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"most": "0"}, "It must be above zero."),
        ({"most": "101"}, "It must be at most 100 %."),
        ({"source": ""}, "This field is required."),
    ],
)
def test_limit_explains_bad_input(client: Client, typed: dict[str, str], sentence: str) -> None:
    client.force_login(build.owner())
    data = {"item": make.item().pk, "most": "1", "source": "certificate"} | typed

    assertContains(client.post(reverse("materials:use-limits"), data), sentence)


def test_maker_reads_the_limits_and_enters_none(client: Client, maker: User) -> None:
    assert client.get(reverse("materials:use-limits")).status_code == 200
    assert client.post(reverse("materials:use-limits"), {}).status_code == 403
