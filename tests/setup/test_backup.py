"""The commands of the README's backup, run as they stand: what comes back is what was there."""

import os
import re
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

import pytest
from django.conf import settings
from django.db import connection

from tests import make

PROJECT = Path(settings.BASE_DIR)


def commands_after(words: str) -> list[str]:
    """The block of commands that follows these words in the README."""
    readme = (PROJECT / "README.md").read_text(encoding="utf-8").partition(words)[2]
    block = re.search(r"(?:^    .+\n)+", readme, re.MULTILINE)
    assert block
    return [line.strip() for line in block[0].splitlines()]


SAVE_FILE, RESTORE_FILE = "SQLite, in the folder that holds", "begin with an empty folder"
SAVE_SERVER, RESTORE_SERVER = "PostgreSQL in Docker (safe", "put `deploy/secrets` back"


def shell(lines: list[str], folder: Path, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["sh", "-eu", "-c", "\n".join(lines)],
        cwd=folder,
        env={**os.environ, **environment},
        check=False,
        capture_output=True,
        text=True,
    )


def manage(data: Path, *words: str, **environment: str) -> None:
    kept = {
        name: value
        for name, value in os.environ.items()
        if not name.startswith(("TAREBOOK_", "DATABASE_", "SECRET_KEY"))
    }
    subprocess.run(
        [sys.executable, "manage.py", *words],
        cwd=PROJECT,
        env={**kept, "TAREBOOK_DATA": str(data), **environment},
        check=True,
        stdout=subprocess.DEVNULL,
    )


def contents(path: Path) -> list[str]:
    with sqlite3.connect(path) as book:
        lines = list(book.iterdump())
    book.close()
    return lines


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The data folder of a book with one owner."""
    data = tmp_path_factory.mktemp("book") / "data"
    manage(data, "migrate", "--verbosity=0")
    manage(data, "make_owner", "odile")
    return data


@pytest.mark.parametrize("uploads", [[], ["certificate.pdf"]], ids=["no uploads", "uploads"])
def test_sqlite_book_comes_back_as_it_was(book: Path, tmp_path: Path, uploads: list[str]) -> None:
    data = shutil.copytree(book, tmp_path / "data")
    for name in uploads:
        (data / "uploads").mkdir()
        (data / "uploads" / name).write_bytes(b"%PDF-1.7")
    before, key = contents(data / "tarebook.sqlite3"), (data / "secret-key").read_text()

    saved = shell(commands_after(SAVE_FILE), tmp_path)
    shutil.rmtree(data)
    data.mkdir()
    (data / "tarebook.sqlite3-wal").write_bytes(b"of another book" * 400)
    restored = shell(commands_after(RESTORE_FILE), tmp_path)

    assert (saved.returncode, saved.stderr) == (0, "")
    assert (restored.returncode, restored.stderr) == (0, "")
    assert contents(data / "tarebook.sqlite3") == before
    assert (data / "secret-key").read_text() == key
    assert [path.name for path in (data / "uploads").glob("*")] == uploads
    assert {path.stat().st_mode & 0o077 for path in tmp_path.glob("*.tar.gz")} == {0}


# ---- PostgreSQL ----------------------------------------------------------------------------------


@pytest.fixture
def server(transactional_db: None, tmp_path: Path) -> Iterator[dict[str, str]]:
    """Where the programs of PostgreSQL find the server of the tests."""
    if connection.vendor != "postgresql":
        pytest.skip("speaks of PostgreSQL; see its leg")
    address = urlsplit(os.environ["DATABASE_URL"])
    hosts = parse_qs(address.query).get("host", [address.hostname or "localhost"])
    values = {"PGHOST": hosts[0], "PGPORT": str(address.port or 5432), "PATH": programs()}
    values |= {"PGUSER": address.username or "postgres", "PGPASSWORD": address.password or ""}
    drop_all(values, tmp_path)
    yield values
    drop_all(values, tmp_path)


def programs() -> str:
    """The folders of programs, with those of a server that came as a package first."""
    found = sorted(Path(sys.prefix).glob("lib/python*/site-packages/*/pginstall/bin"))
    return ":".join([*map(str, found), os.environ["PATH"]])


def drop_all(server: dict[str, str], folder: Path) -> None:
    for name in ("kept_book", "restored", "before"):
        shell([f"dropdb --if-exists --force {name}"], folder, **server)


def without_docker(lines: list[str]) -> list[str]:
    """What runs inside the database's container, on the server and the book of this test."""
    inside = re.compile(r"docker compose exec -T db (.+)")
    found = [match[1] for line in lines if (match := inside.fullmatch(line))]
    bare = [line.replace("-U tarebook ", "") for line in found]
    return [re.sub(r"\btarebook\b(?!\.)", "kept_book", line) for line in bare]


def rows(server: dict[str, str], folder: Path) -> list[str]:
    """Every row of every table, and the names of the guards."""
    guards = "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal ORDER BY tgname"
    ask = ["pg_dump --data-only --inserts kept_book", f"psql -At -d kept_book -c '{guards}'"]
    said = shell(ask, folder, **server)
    assert said.returncode == 0, said.stderr
    return [line for line in said.stdout.splitlines() if not line.startswith("\\")]


def test_postgresql_book_comes_back_as_it_was(server: dict[str, str], tmp_path: Path) -> None:
    make.user(username="odile")
    copy = f"pg_dump {connection.settings_dict['NAME']} | psql -q -d kept_book >copied"
    assert shell(["createdb kept_book", copy], tmp_path, **server).returncode == 0
    before = rows(server, tmp_path)
    restore = without_docker(commands_after(RESTORE_SERVER))

    saved = shell(without_docker(commands_after(SAVE_SERVER)), tmp_path, **server)
    restored = shell(restore, tmp_path, **server)
    after = rows(server, tmp_path)
    over = next(line for line in restore if line.startswith("pg_restore"))
    refused = shell([over.replace("-d restored", "-d kept_book")], tmp_path, **server)

    assert "odile" in "".join(before)
    assert (saved.returncode, saved.stderr) == (0, "")
    assert (restored.returncode, restored.stderr) == (0, "")
    assert after == before
    assert refused.returncode != 0
    assert "already exists" in refused.stderr
    assert rows(server, tmp_path) == before
