"""A disk that is full or shut, a real one: what comes and goes says so, and the old book stands."""

import subprocess
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse

from tests import make
from tests.audit.whole_book import photo
from tests.goods_in import build as goods
from workshop.core.models import Role
from workshop.goods_in.models import Supplier
from workshop.transfer.services import apart
from workshop.transfer.spreadsheets import read

pytestmark = pytest.mark.django_db(transaction=True)
ROOM_KIB = 64


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 64 KiB."""
    place = tmp_path / "disk"
    place.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", f"size={ROOM_KIB}k", "tmpfs", str(place)]
    if subprocess.run(mount, check=False, stderr=subprocess.DEVNULL).returncode:
        pytest.skip("only who may mount a disk can fill one")
    yield place
    subprocess.run(["umount", place], check=True)


def fill(disk: Path) -> Path:
    with suppress(OSError), (disk / "something else").open("wb", buffering=0) as file:
        while True:
            file.write(bytes(1024))
    return disk


def shut(disk: Path) -> Path:
    subprocess.run(["mount", "-o", "remount,ro", disk], check=True)
    return disk


@pytest.mark.parametrize(
    ("spoil", "why"), [(fill, "No space left on device"), (shut, "Read-only file system")]
)
def test_export_and_backup_say_why_and_leave_no_half(
    spoil: Any, why: str, disk: Path, settings: Any
) -> None:
    make.lot()
    before = sorted(path.name for path in spoil(disk).iterdir())
    settings.BACKUP_DIR = disk

    with pytest.raises(CommandError, match=why):
        call_command("export", str(disk / "book.zip"))
    with pytest.raises(CommandError, match=why):
        call_command("backup")

    assert sorted(path.name for path in disk.iterdir()) == before


@pytest.mark.parametrize("spoil", [fill, shut])
def test_restore_without_room_for_its_files_leaves_the_old_book(
    spoil: Any, disk: Path, tmp_path: Path, settings: Any
) -> None:
    settings.BACKUP_DIR = tmp_path / "backups"
    goods.certificate(goods.supplier("Ostrey Oils"), [], document=photo("certificate"))
    book = tmp_path / "book.zip"
    call_command("export", str(book))
    Supplier.objects.create(name="Later Oils")
    settings.MEDIA_ROOT = spoil(disk)

    with pytest.raises(CommandError, match="The book that was here stands as it was"):
        call_command("restore", str(book), replace=True)

    assert Supplier.objects.filter(name="Later Oils").exists()
    assert not list(disk.rglob("*half*"))


@pytest.mark.parametrize("spoil", [fill, shut])
def test_spreadsheet_that_finds_no_room_gets_a_sentence(
    spoil: Any, disk: Path, signed_in: Any, settings: Any
) -> None:
    client: Client = signed_in(Role.OWNER)
    settings.DATA_DIR = disk
    read.folder().mkdir()
    file = SimpleUploadedFile("ours.csv", b"Name,Note\n" + b"Ostrey Oils,\n" * 1000)
    spoil(disk)

    page = client.post(reverse("transfer:sheets"), {"file": file})

    assert "cannot be written" in page.content.decode()
    assert {path.name for path in read.folder().iterdir()} <= {"under-way.lock"}


def test_taking_in_goes_on_where_there_is_no_room_to_tell_how_far(
    disk: Path, settings: Any
) -> None:
    settings.DATA_DIR = disk
    rows = "".join(f"Supplier {number},\n" for number in range(12))
    read.folder().mkdir()
    source = disk / "ours.csv"
    source.write_text("Name,Note\n" + rows)
    with source.open("rb") as file:
        digest = read.keep(file)
    owner = make.user(Role.OWNER)
    apart.note(apart.Run(digest, "ours.csv", "", owner.pk, make.NOON.isoformat()))
    fill(disk)

    apart.work()

    assert Supplier.objects.count() == 12
