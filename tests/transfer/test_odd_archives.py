"""A file of the whole book that was spoilt on its way, and commands that meet at a bad moment."""

import json
import os
import signal
import subprocess
import sys
import time
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import connection

from tests import make
from tests.audit.whole_book import photo
from tests.goods_in import build as goods
from tests.kept_database import address
from tests.transfer.test_whole_book import Parts, exported, packed, parts
from workshop.core.database.tables_of_version import tables_amiss
from workshop.core.errors import ActionRefused
from workshop.core.models import Upload
from workshop.goods_in.models import Supplier
from workshop.transfer.archive.read import opened
from workshop.transfer.archive.tables import book_tables
from workshop.transfer.archive.write import PACKS, UPLOADS, archive
from workshop.transfer.backups.folder import drop_old, whole_file
from workshop.transfer.services.restore import restore

pytestmark = pytest.mark.django_db(transaction=True)


def all_that_is_read(path: Path) -> Any:
    """Everything that a restore takes from the file."""
    with opened(path) as book:
        rows = {table.name: list(book.table(table)) for table in book_tables()}
        files = {
            name: b"".join(book.file(place + name))
            for place in (UPLOADS, PACKS)
            for name in book.files(place)
        }
        return rows, files, book.head_line, book.secret_key


def test_one_changed_byte_is_noticed_wherever_it_changes_anything(tmp_path: Path) -> None:
    """Sixty places of the ZIP, in its index too; beside data there are bytes that say nothing."""
    goods.certificate(goods.supplier(), [], document=photo("certificate"))
    path = tmp_path / "book.zip"
    path.write_bytes(b"".join(archive(with_key=True)))
    whole, before = path.read_bytes(), all_that_is_read(path)
    refused = []
    step = len(whole) // 30
    for place in [*range(11, len(whole), step), *range(len(whole) - 2000, len(whole), 67)]:
        other = bytes([whole[place] ^ 1 << place % 8])
        path.write_bytes(whole[:place] + other + whole[place + 1 :])
        try:
            assert all_that_is_read(path) == before, place
        except ActionRefused as error:
            refused.append(error.message)

    assert len(refused) > 20
    assert [said for said in refused if "not a whole export" not in said] == []


@pytest.mark.parametrize("kept", [0, 10, 0.5, 0.9, 0.999])
def test_truncated_file_is_refused(kept: float, tmp_path: Path) -> None:
    make.lot()
    path = exported(tmp_path)
    whole = path.read_bytes()
    path.write_bytes(whole[: int(kept * len(whole)) if kept < 1 else int(kept)])

    with pytest.raises(ActionRefused, match="not a whole export"):
        restore(path, replace=True)


def _odd_name(path: Path, found: Parts) -> None:
    packed(path, {**found, "uploads/./2026/a.pdf": b"x"})


def _from_the_root(path: Path, found: Parts) -> None:
    packed(path, {**found, "uploads//etc/away.txt": b"x"})


def _packed_otherwise(path: Path, found: Parts) -> None:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_LZMA) as book:
        for name, content in found.items():
            book.writestr(name, content)


def _told(change: Callable[[Any], object]) -> Callable[[Path, Parts], None]:
    def spoil(path: Path, found: Parts) -> None:
        package = json.loads(found["datapackage.json"])
        change(package)
        packed(path, {**found, "datapackage.json": json.dumps(package).encode()})

    return spoil


@pytest.mark.parametrize(
    ("spoil", "sentence"),
    [
        (_odd_name, "is no name of a file"),
        (_from_the_root, "would leave its folder"),
        (_packed_otherwise, "packed in another way"),
        (_told(lambda it: it["resources"][0].pop("schema")), "cannot be read"),
        (_told(lambda it: it["tarebook"]["migrations"].update(ledger=5)), "cannot be read"),
        (_told(lambda it: it["resources"][0].update(name=[])), "cannot be read"),
        (_told(lambda it: it.update(resources=None)), "cannot be read"),
        (_told(lambda it: it["resources"][0]["schema"].update(fields=[{}])), "cannot be read"),
    ],
)
def test_file_of_another_make_is_refused_before_anything_is_written(
    spoil: Callable[[Path, Parts], None], sentence: str, tmp_path: Path
) -> None:
    Supplier.objects.create(name="Ostrey Oils")
    path = exported(tmp_path)
    spoil(path, parts(path))

    with pytest.raises(ActionRefused, match=sentence):
        restore(path, replace=True)

    assert Supplier.objects.get().name == "Ostrey Oils"
    assert not list(Path(settings.MEDIA_ROOT).parent.rglob("away.txt"))


# ---- Commands that meet --------------------------------------------------------------------------


def test_file_that_is_being_written_is_neither_begun_again_nor_swept_away(tmp_path: Path) -> None:
    name = "tarebook-20260101T000000Z.zip"

    def meets() -> Iterator[bytes]:
        yield b"one"
        drop_old(tmp_path, at=make.NOON)
        with pytest.raises(ActionRefused, match="is being written at this moment"):
            whole_file(tmp_path / name, [b"other"])
        yield b" whole"

    whole_file(tmp_path / name, meets())

    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {name: b"one whole"}


def test_shorter_file_after_a_kill_holds_nothing_of_the_half_before(tmp_path: Path) -> None:
    (tmp_path / "book.zip.half").write_bytes(b"a long half that a kill left")

    whole_file(tmp_path / "book.zip", [b"whole"])

    assert [path.read_bytes() for path in tmp_path.iterdir()] == [b"whole"]


def test_file_of_the_book_that_cannot_be_read_is_named(tmp_path: Path, settings: Any) -> None:
    settings.BACKUP_DIR = tmp_path / "backups"
    goods.certificate(goods.supplier(), [], document=photo("certificate"))
    kept = Path(Upload.objects.get().file.path)
    content = kept.read_bytes()
    kept.unlink()
    kept.mkdir()  # which even who may read everything cannot read
    try:
        with pytest.raises(CommandError, match=f"{kept.name} cannot be read"):
            call_command("backup")
    finally:
        kept.rmdir()
        kept.write_bytes(content)

    assert list((tmp_path / "backups").iterdir()) == []


KILLED = """
import django
django.setup()
from django.core.management import call_command
from workshop.transfer.archive import write
cells = write._cells
def slow(table):
    for some in cells(table):
        print(table.name, flush=True)
        input()
        yield some
write._cells = slow
call_command("backup")
"""


def test_killed_backup_leaves_a_half_that_the_next_one_takes_away(
    tmp_path: Path, settings: Any
) -> None:
    make.lot()
    settings.BACKUP_DIR = tmp_path / "backups"
    ours = {"TAREBOOK_BACKUPS": str(tmp_path / "backups"), "DATABASE_URL": address()}
    with subprocess.Popen(
        [sys.executable, "-c", KILLED],
        cwd=settings.BASE_DIR,
        env={**os.environ, **ours, "DJANGO_SETTINGS_MODULE": "workshop.settings"},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as backup:
        assert backup.stdout
        assert backup.stdout.readline()
        make.lot()  # others go on writing meanwhile
        [half] = (tmp_path / "backups").iterdir()
        backup.send_signal(signal.SIGKILL)

    assert half.name.endswith(".zip.half")
    assert backup.returncode == -signal.SIGKILL
    time.sleep(1)  # a backup is named by its second
    call_command("backup")

    [kept] = (tmp_path / "backups").iterdir()
    assert kept.suffix == ".zip"
    with zipfile.ZipFile(kept) as book:
        assert book.testzip() is None


def test_tables_of_another_version_are_named_and_nothing_is_begun(tmp_path: Path) -> None:
    assert tables_amiss(connection) == ""
    with connection.cursor() as cursor:
        cursor.execute("SELECT name FROM django_migrations WHERE app = 'transfer'")
        if not cursor.fetchall():
            pytest.skip("speaks of migrations, which this run leaves out")
        cursor.execute("DELETE FROM django_migrations WHERE app = 'transfer'")
    try:
        for words in (["backup"], ["export", str(tmp_path / "a.zip")], ["restore", "b.zip"]):
            with pytest.raises(CommandError, match=r"not yet those of version .* migrate"):
                call_command(*words)
    finally:
        with connection.cursor() as cursor:
            cursor.execute(
                "INSERT INTO django_migrations (app, name, applied)"
                " VALUES ('transfer', '0001_initial', CURRENT_TIMESTAMP)"
            )

    assert list(tmp_path.iterdir()) == []
