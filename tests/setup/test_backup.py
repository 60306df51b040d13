"""The commands of the README's backup, restore and move, run as they stand."""

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection

from tests import kept_database

PROJECT = Path(settings.BASE_DIR)
BACKUP, CRON, RESTORE = "### Backup", "One line for cron", "To restore, into a book"
BACK = "### Rollback"
MOVE = "So a book that is stopped moves from SQLite to PostgreSQL"


def commands_after(words: str) -> list[str]:
    """The block of commands that follows these words in the README."""
    readme = (PROJECT / "README.md").read_text(encoding="utf-8")
    _, after = re.split(words.replace(" ", r"\s+"), readme, maxsplit=1)
    block = re.search(r"(?:^    .+\n)+", after, re.MULTILINE)
    assert block
    return [line.strip() for line in block[0].splitlines()]


def shell(lines: list[str], data: Path, **environment: str) -> str:
    """What the lines print, run in the folder of the code on the book in `data`."""
    ours = ("TAREBOOK_", "DATABASE_", "SECRET_KEY")
    kept = {name: value for name, value in os.environ.items() if not name.startswith(ours)}
    done = subprocess.run(
        ["sh", "-eu", "-c", "\n".join(lines).replace(".venv/bin/python", sys.executable)],
        cwd=PROJECT,
        env={**kept, "TAREBOOK_DATA": str(data), **environment},
        check=False,
        capture_output=True,
        text=True,
    )
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """The data folder of a book with one owner."""
    folder = tmp_path / "data"
    kept_database.place(folder)
    words = ["migrate --verbosity=0", "make_owner odile"]
    shell([f".venv/bin/python manage.py {one}" for one in words], folder)
    return folder


def test_book_is_backed_up_lost_and_restored_with_its_key(data: Path, tmp_path: Path) -> None:
    key = (data / "secret-key").read_text()
    said = shell(commands_after(BACKUP), data)
    [backup] = (data / "backups").glob("*.zip")
    kept = shutil.move(backup, tmp_path / "FILE.zip")
    shutil.rmtree(data)

    lines = [line.replace("FILE.zip", str(kept)) for line in commands_after(RESTORE)]
    back = shell(lines, data)

    assert "can be restored" in said
    assert "are back, and sound" in back
    assert (data / "secret-key").read_text() == key
    assert "1" in shell(
        ['.venv/bin/python manage.py shell -v0 -c "print(User.objects.count())"'], data
    )


def test_line_for_cron_has_five_times_and_this_command() -> None:
    [line] = commands_after(CRON)
    *times, command = line.split(maxsplit=5)
    [begun, *_] = commands_after("To begin your own book")

    assert len(times) == 5
    assert command.endswith(commands_after(BACKUP)[0].removesuffix(" --try"))
    assert set(re.findall("TAREBOOK_DATA=[^ ]+", command + begun)) == {"TAREBOOK_DATA=/srv/book"}


def test_book_goes_back_to_the_backup_before_the_upgrade(data: Path, tmp_path: Path) -> None:
    """The first line is left out here: it sets up the clone that the tests run from."""
    shell(commands_after(BACKUP), data)
    away = tmp_path / "moved-away"
    data.rename(away)
    [backup] = (away / "backups").glob("*.zip")
    first, *lines = commands_after(BACK)

    back = shell([line.replace("FILE.zip", str(backup)) for line in lines], data)

    assert (PROJECT / first.split()[0]).exists()
    assert "are back, and sound" in back
    assert (data / "secret-key").read_text() == (away / "secret-key").read_text()


@pytest.fixture
def address(transactional_db: None) -> Iterator[str]:
    """An empty database on the server of the tests."""
    if connection.vendor != "postgresql":
        pytest.skip("speaks of PostgreSQL; see its leg")
    with connection.cursor() as cursor:
        cursor.execute("DROP DATABASE IF EXISTS moved_book")
        cursor.execute("CREATE DATABASE moved_book")
    before, _, after = os.environ["DATABASE_URL"].partition("?")
    yield f"{before.rpartition('/')[0]}/moved_book?{after}"
    with connection.cursor() as cursor:
        cursor.execute("DROP DATABASE moved_book WITH (FORCE)")


def test_book_moves_from_sqlite_to_postgresql(data: Path, address: str, tmp_path: Path) -> None:
    book = tmp_path / "book.zip"
    lines = [
        re.sub(r"DATABASE_URL=\S+", f"DATABASE_URL='{address}'", line).replace(
            "book.zip", str(book)
        )
        for line in commands_after(MOVE)
    ]

    assert "are back, and sound" in shell(lines, data)
