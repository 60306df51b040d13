"""Backups: whole or not there, kept by days, and missed when there is none."""

import errno
import os
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from datetime import timedelta
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from tests import make
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.rules.transfer.backup_rotation import KeepingRule, kept
from workshop.transfer.backups.folder import (
    backups_in,
    drop_old,
    new_name,
    note_tried,
    state,
    whole_file,
)

WORD = "a longer word than most"


@pytest.fixture(autouse=True)
def place(tmp_path: Path, settings: Any) -> Path:
    settings.BACKUP_DIR = tmp_path / "backups"
    return tmp_path / "backups"


def days_back(*ages: int) -> list[Any]:
    return [make.day(-age) for age in ages]


def test_all_of_two_weeks_are_kept_then_one_a_week_then_one_a_month() -> None:
    every_day = days_back(*range(800))

    stay = kept(every_day, today=make.DAY)
    ages = sorted((make.DAY - day).days for day in stay)

    assert ages[:14] == list(range(14))
    assert 11 <= sum(14 <= age < 91 for age in ages) <= 15  # a month may begin within a week
    assert 20 <= sum(91 <= age < 731 for age in ages) <= 22
    assert ages[-1] < 731


@given(ages=st.sets(st.integers(0, 3000), min_size=1))
def test_newest_is_always_kept_and_what_went_is_not_missed(ages: set[int]) -> None:
    days = days_back(*ages)

    stay = kept(days, today=make.DAY)

    assert max(days) in stay
    assert kept(stay, today=make.DAY) == stay
    assert {day for day in days if (make.DAY - day).days < KeepingRule().all_days} <= stay


def test_only_what_the_rule_drops_and_halves_go(place: Path) -> None:
    place.mkdir()
    ages = [0, 20, 21, 1000]
    names = [new_name(make.NOON - timedelta(days=age)) for age in ages]
    for name in [*names, "letter.txt", "tarebook-20260101T000000Z.zip.half"]:
        (place / name).write_bytes(b"x")

    gone = drop_old(place, at=make.NOON, rule=KeepingRule(14, 20, 21))

    left = {path.name for path in place.iterdir()}
    assert [one.name for one in gone] == names[2:]
    assert left == {names[0], names[1], "letter.txt"} or left == {names[0], "letter.txt"}


def _full() -> Iterator[bytes]:
    yield b"half"
    raise OSError(errno.ENOSPC, "No space left on device")


def test_full_disk_leaves_no_half_file(tmp_path: Path) -> None:
    with pytest.raises(ActionRefused, match="No space left"):
        whole_file(tmp_path / "book.zip", _full())

    assert list(tmp_path.iterdir()) == []


def test_folder_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("no folder")

    with pytest.raises(ActionRefused, match="cannot be written"):
        whole_file(tmp_path / "file" / "book.zip", [b"x"])


KILLED = """
import os, signal, django
django.setup()
from io import StringIO
from pathlib import Path
from workshop.transfer.backups.folder import whole_file
def pieces():
    yield b"half"
    os.kill(os.getpid(), signal.SIGKILL)
whole_file(Path(os.environ["TO"]), pieces())
"""


def test_killed_export_leaves_a_half_that_is_named_so(tmp_path: Path) -> None:
    path = tmp_path / "book.zip"
    words = {"TO": str(path), "DJANGO_SETTINGS_MODULE": "workshop.settings"}

    done = subprocess.run(
        [sys.executable, "-c", KILLED], cwd=settings.BASE_DIR, env={**os.environ, **words}
    )

    assert done.returncode == -9
    assert [one.name for one in tmp_path.iterdir()] == ["book.zip.half"]


@pytest.mark.django_db(transaction=True)
def test_backup_holds_the_key_and_an_export_does_not(place: Path, tmp_path: Path) -> None:
    make.lot()
    call_command("backup", stdout=StringIO())
    call_command("export", tmp_path / "book.zip", stdout=StringIO())

    [backup] = backups_in(place)
    with zipfile.ZipFile(backup.path) as book:
        assert book.read("secret-key").decode().strip() == settings.SECRET_KEY
    with zipfile.ZipFile(tmp_path / "book.zip") as book:
        assert "secret-key" not in book.namelist()
    assert backup.path.stat().st_mode & 0o077 == 0
    with pytest.raises(CommandError, match="there already"):
        call_command("export", tmp_path / "book.zip")


@pytest.mark.django_db
def test_today_asks_the_owner_for_a_backup_until_there_is_one(place: Path, signed_in: Any) -> None:
    make.lot()
    client: Client = signed_in(Role.OWNER)
    asked = client.get(reverse("front:today")).content.decode()
    maker = signed_in(Role.MAKER).get(reverse("front:today")).content.decode()
    place.mkdir()
    (place / new_name(make.NOON)).write_bytes(b"x")
    there = client.get(reverse("front:today")).content.decode()

    assert "There is no backup of this book." in asked
    assert "backup" not in maker
    assert "backup" not in there


@pytest.mark.django_db
def test_page_says_when_where_how_large_and_when_tried(place: Path, signed_in: Any) -> None:
    make.lot()
    place.mkdir()
    path = place / new_name(make.NOON - timedelta(days=9))
    path.write_bytes(b"x" * 2048)
    note_tried(path, at=make.NOON)
    page = signed_in(Role.INSPECTOR).get(reverse("transfer:home")).content.decode()

    assert state().is_old
    for words in (str(place), path.name, "2.0", "it came back sound", "The last backup of this"):
        assert words in page


@pytest.mark.django_db(transaction=True)
def test_owner_takes_the_whole_book_home_with_their_password() -> None:
    owner = make.user(Role.OWNER)
    owner.set_password(WORD)
    owner.save()
    client = Client()
    client.force_login(owner, backend="django.contrib.auth.backends.ModelBackend")

    refused = client.post(reverse("transfer:export"), {"password": "wrong"})
    sent: Any = client.post(reverse("transfer:export"), {"password": WORD})
    content = b"".join(sent.streaming_content)

    assert "not your password" in refused.content.decode()
    assert sent["Content-Disposition"].startswith('attachment; filename="tarebook-export-')
    assert content.startswith(b"PK")
