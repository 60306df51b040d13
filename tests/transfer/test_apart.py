"""A file is taken in by a process of its own, which says how far it is and may be killed."""

import fcntl
import os
import signal
import time
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from tests import make
from tests.kept_database import address
from tests.transfer.apart import PATIENCE_S, taken_in
from workshop.core.models import Role
from workshop.goods_in.models import Supplier
from workshop.transfer.models import SheetImport
from workshop.transfer.services import apart
from workshop.transfer.spreadsheets import read

pytestmark = pytest.mark.django_db(transaction=True)
OURS = "Name,Ansprechpartner\nOstrey Oils,Mara Ell\n"
HTMX = {"HX-Request": "true"}


@pytest.fixture(autouse=True)
def _book_is_found(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, settings: Any) -> None:
    """By the process of its own; what is brought in lies in a folder of this test."""
    monkeypatch.setenv("DATABASE_URL", address())
    monkeypatch.setenv("TAREBOOK_DATA", str(tmp_path))
    settings.DATA_DIR = tmp_path


def brought(client: Client, text: str) -> dict[str, str]:
    """The file tried; what goes along to the taking-in."""
    file = SimpleUploadedFile("suppliers.csv", text.encode())
    page = client.post(reverse("transfer:sheets"), {"file": file}).content.decode()
    digest = page.partition('name="digest" value="')[2][:64]
    return {"digest": digest, "file_name": "suppliers.csv", "order": ""}


def test_owner_tries_takes_in_and_takes_back_by_the_pages(signed_in: Any) -> None:
    client: Client = signed_in(Role.OWNER)
    kept = brought(client, OURS)
    named = client.post(
        reverse("transfer:try-sheets"), {**kept, "columns": "1", "column-0": "contact"}
    )
    told = taken_in(client, kept)
    run = SheetImport.objects.get()
    listed = client.get(reverse("transfer:sheets")).content.decode()
    client.post(reverse("transfer:take-back", args=[run.pk]), {"reason": "Wrong file"})

    assert "can be imported" in named.content.decode()
    assert "suppliers.csv is imported" in told
    assert "1 new and 0 changed" in told
    assert "suppliers.csv" in listed
    assert not Supplier.objects.exists()
    assert Supplier.history.latest("history_id").contact == "Mara Ell"


def test_fault_that_came_up_meanwhile_is_told_and_nothing_is_written(signed_in: Any) -> None:
    client: Client = signed_in(Role.OWNER)
    kept = brought(client, OURS)
    (read.folder() / kept["digest"]).write_text("Name,Contact\n,Mara Ell\n")
    at = make.NOON.isoformat()
    apart.note(apart.Run(kept["digest"], "suppliers.csv", "", make.user(Role.OWNER).pk, at))

    apart.work()
    told = client.get(reverse("transfer:under-way")).content.decode()

    assert "Nothing from suppliers.csv was imported" in told
    assert "Something in the file is at fault" in told
    assert not Supplier.objects.exists()


def test_process_killed_in_the_middle_leaves_the_old_book_and_the_page_says_so(
    signed_in: Any,
) -> None:
    client: Client = signed_in(Role.OWNER)
    rows = "".join(f"Supplier {number},\n" for number in range(400))
    kept = brought(client, "Name,Contact\n" + rows)
    page = client.post(reverse("transfer:take-in"), kept, follow=True).content.decode()
    until = time.monotonic() + PATIENCE_S
    while (run := apart.last_run()) is None or not 0 < run.done < run.of:
        assert time.monotonic() < until
        time.sleep(0.02)
    os.kill(run.process, signal.SIGSTOP)  # so that it is still under way while we look
    second = client.post(reverse("transfer:take-in"), kept, follow=True).content.decode()
    bar = client.get(reverse("transfer:under-way"), headers=HTMX).content.decode()
    os.kill(run.process, signal.SIGKILL)
    while (now := apart.last_run()) is None or now.is_under_way:
        assert time.monotonic() < until
        time.sleep(0.02)
    over = client.get(reverse("transfer:under-way"), headers=HTMX)
    told = client.get(reverse("transfer:under-way")).content.decode()

    assert "How far is it now?" in page  # without a script
    assert "One file is taken in at a time" in second
    assert f"of {run.of} steps" in bar
    assert "<html" not in bar
    assert over["HX-Redirect"] == reverse("transfer:under-way")
    assert "Importing suppliers.csv broke off" in told
    assert "the book is as it was before" in told
    assert "Look at the file again" in told
    assert not Supplier.objects.exists()
    assert not SheetImport.objects.exists()


def test_one_file_at_a_time_and_none_is_told_of_before_the_first(signed_in: Any) -> None:
    client: Client = signed_in(Role.OWNER)
    kept = brought(client, OURS)
    with (read.folder() / "under-way.lock").open("ab") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        refused = client.post(reverse("transfer:take-in"), kept)

    assert refused["Location"] == reverse("transfer:under-way")
    assert client.get(refused["Location"])["Location"] == reverse("transfer:sheets")


def test_file_that_is_no_longer_kept_is_asked_for_again(signed_in: Any) -> None:
    client: Client = signed_in(Role.OWNER)
    kept = {"digest": "0" * 64, "file_name": "suppliers.csv", "order": ""}
    page = client.post(reverse("transfer:take-in"), kept, follow=True).content.decode()

    assert "The file is no longer kept. Choose it again." in page
