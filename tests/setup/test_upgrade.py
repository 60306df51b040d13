"""A book of an earlier version goes on under this one, with its guards and its proof whole."""

# ruff: noqa: S608 -- the SQL is put together from the constants in this file alone

import os
import shutil
import sqlite3
import subprocess
import sys
import tarfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from django.conf import settings
from django.db import connection

from tests.setup.later import later_version
from workshop import __version__


def name_of(path: Path) -> str:
    return path.name.removesuffix(".tar.gz")


PROJECT = Path(settings.BASE_DIR)
BOOKS = sorted(
    (PROJECT / "tests" / "setup" / "books").glob("*.tar.gz"),
    key=lambda path: [int(part) for part in name_of(path).split(".")],
)
GUARDED = "kettle_check"
SEALS = "SELECT number, digest FROM ledger_seal ORDER BY number"
LOSSES_TABLE = "SELECT 1 FROM sqlite_master WHERE name = 'packing_loss'"


def put_back(archive_path: Path, folder: Path) -> Path:
    """The data folder of a kept book, put back from its archive."""
    if connection.vendor != "sqlite":
        pytest.skip("the kept books are of SQLite; see its leg")
    folder.mkdir()
    with tarfile.open(archive_path) as archive:
        archive.extractall(folder, filter="data")
    script = folder / "book.sql"
    with sqlite3.connect(folder / "tarebook.sqlite3") as book:
        book.executescript(script.read_text("utf-8"))
    book.close()
    script.unlink()
    return folder


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """The book that this version kept."""
    return put_back(BOOKS[-1], tmp_path / "data")


class Upgraded(NamedTuple):
    data: Path
    seals: list[tuple[object, ...]]
    guards: set[str]
    held_losses: bool
    said: str


@pytest.fixture(scope="module", params=BOOKS, ids=name_of)
def brought_over(request: pytest.FixtureRequest, tmp_path_factory: Any) -> Upgraded:
    """A kept book of each version under this one, as it was before and what is said of it now."""
    data = put_back(request.param, tmp_path_factory.mktemp("book") / "data")
    before = asked(data, SEALS), set(guards(data)), bool(asked(data, LOSSES_TABLE))
    return Upgraded(data, *before, upgraded(data))


@pytest.fixture
def later(tmp_path: Path) -> dict[str, str]:
    """The environment under which a version to come runs."""
    return later_version(tmp_path / "code")


def manage(
    data: Path, *words: str, command: str = "manage.py", **environment: str
) -> subprocess.CompletedProcess[str]:
    ours = ("TAREBOOK_", "DATABASE_", "SECRET_KEY", "DJANGO_")
    kept = {name: value for name, value in os.environ.items() if not name.startswith(ours)}
    return subprocess.run(
        [sys.executable, command, *words],
        cwd=PROJECT,
        env={**kept, "TAREBOOK_DATA": str(data), **environment},
        check=False,
        capture_output=True,
        text=True,
    )


def upgraded(data: Path, **environment: str) -> str:
    """What `check_ledger` says of the book once `migrate` has run."""
    migrated = manage(data, "migrate", "--verbosity=0", **environment)
    assert (migrated.returncode, migrated.stderr) == (0, "")
    return manage(data, "check_ledger", **environment).stdout


def asked(data: Path, sql: str) -> list[tuple[object, ...]]:
    with sqlite3.connect(data / "tarebook.sqlite3") as book:
        rows = book.execute(sql).fetchall()
    book.close()
    return rows


def guards(data: Path) -> Iterator[str]:
    ours = f"type = 'trigger' AND tbl_name = '{GUARDED}'"
    return (str(name) for (name,) in asked(data, f"SELECT name FROM sqlite_master WHERE {ours}"))


def test_a_book_of_this_version_is_kept() -> None:
    assert f"{__version__}.tar.gz" in [path.name for path in BOOKS]


@pytest.mark.parametrize("path", BOOKS, ids=name_of)
def test_kept_book_is_small_and_names_nobody(path: Path) -> None:
    with tarfile.open(path) as archive:
        owners = {(entry.uid, entry.gid, entry.uname, entry.gname) for entry in archive}

    assert path.stat().st_size < 200_000
    assert owners == {(0, 0, "", "")}


def test_earlier_book_is_sound_under_this_version(brought_over: Upgraded) -> None:
    assert len(brought_over.seals) > 9
    assert f"{GUARDED}_no_update" in brought_over.guards
    assert asked(brought_over.data, f"SELECT COUNT(*) > 0 FROM {GUARDED}") == [(1,)]

    assert "No finding: the book is sound." in brought_over.said, brought_over.said
    assert asked(brought_over.data, SEALS) == brought_over.seals


def test_column_that_comes_later_leaves_guards_and_proof_whole(
    data: Path, later: dict[str, str]
) -> None:
    before = set(guards(data))

    said = upgraded(data, **later)

    assert "No finding: the book is sound." in said, said
    assert asked(data, f"SELECT DISTINCT probe FROM {GUARDED}") == [("by hand",)]
    assert set(guards(data)) == before
    with pytest.raises(sqlite3.IntegrityError, match="only ever added"):
        asked(data, f"UPDATE {GUARDED} SET note = 'another'")


def test_book_of_a_later_version_is_neither_brought_up_to_date_nor_served(
    data: Path, later: dict[str, str]
) -> None:
    upgraded(data, **later)
    before = set(guards(data))

    migrated = manage(data, "migrate", "--verbosity=0")
    served = manage(data, command="scripts/serve.py", PORT="0")

    for stopped in (migrated, served):
        assert stopped.returncode == 1
        assert "last used by a later version of Tarebook" in stopped.stderr
        assert "Traceback" not in stopped.stderr
    assert set(guards(data)) == before


def test_row_changed_before_the_upgrade_is_found_after_it(
    data: Path, later: dict[str, str]
) -> None:
    asked(data, f"DROP TRIGGER {GUARDED}_no_update")
    asked(data, f"UPDATE {GUARDED} SET note = 'another'")

    said = upgraded(data, **later)

    assert "every seal is unbroken: NOT SOUND" in said
    assert "no longer as sealed: note." in said


CARRIED = "SELECT kind, quantity, reason FROM ledger_shed WHERE token LIKE 'packing_loss:%'"


def test_what_a_packing_run_lost_comes_over_and_is_held_to_its_seal(
    brought_over: Upgraded, tmp_path: Path
) -> None:
    if not brought_over.held_losses:
        pytest.skip("this version kept what a run lost as all that leaves is kept")
    data = Path(shutil.copytree(brought_over.data, tmp_path / "data"))

    assert "1  what packing runs lost is as it was sealed: sound" in brought_over.said
    assert asked(data, CARRIED) == [("spilled", 5_000, "knocked over")]
    asked(data, "DROP TRIGGER ledger_shed_no_update")
    asked(data, "UPDATE ledger_shed SET reason = 'sold' WHERE token LIKE 'packing_loss:%'")
    assert "5.000 g that it lost are no longer as sealed." in manage(data, "check_ledger").stdout
    asked(data, "DROP TRIGGER ledger_shed_no_delete")
    asked(data, "DELETE FROM ledger_shed WHERE token LIKE 'packing_loss:%'")
    assert "5.000 g that it lost are gone." in manage(data, "check_ledger").stdout
