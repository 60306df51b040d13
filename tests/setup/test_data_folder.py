"""The data folder is its owner's alone, and its key is made once, whole."""

import os
import sqlite3
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings
from django.core.exceptions import ImproperlyConfigured

from workshop.data_folder import kept_secret_key, shut, shut_database

PROJECT = Path(settings.BASE_DIR)
MAKE_KEY = """
import sys
from pathlib import Path
from workshop.data_folder import kept_secret_key
sys.stdin.readline()
print(kept_secret_key(Path(sys.argv[1])))
"""


def rights(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def manage(data: Path, *words: str) -> subprocess.CompletedProcess[str]:
    kept = {
        name: value
        for name, value in os.environ.items()
        if not name.startswith(("TAREBOOK_", "DATABASE_", "SECRET_KEY"))
    }
    return subprocess.run(
        [sys.executable, "manage.py", *words],
        cwd=PROJECT,
        env={**kept, "TAREBOOK_DATA": str(data)},
        check=False,
        capture_output=True,
        text=True,
        umask=0o022,
    )


def test_new_book_is_its_owners_alone(tmp_path: Path) -> None:
    data = tmp_path / "data"
    assert manage(data, "migrate", "--verbosity=0").returncode == 0

    with sqlite3.connect(data / "tarebook.sqlite3") as book:
        book.execute("CREATE TABLE open_while_we_look (word TEXT)")
        found = {path.name: rights(path) for path in data.iterdir()}
    book.close()

    assert found == dict.fromkeys(
        ("secret-key", "tarebook.sqlite3", "tarebook.sqlite3-wal", "tarebook.sqlite3-shm"), 0o600
    )
    assert rights(data) == 0o700


def test_book_of_before_is_shut_at_the_next_start(tmp_path: Path) -> None:
    data = tmp_path / "data"
    (data / "uploads").mkdir(parents=True, mode=0o755)
    names = ("secret-key", "tarebook.sqlite3", "tarebook.sqlite3-wal", "tarebook.sqlite3-shm")
    for name in names:
        (data / name).touch(mode=0o644)
    data.chmod(0o755)

    shut(data)

    assert {rights(data / name) for name in names} == {0o600}
    assert (rights(data), rights(data / "uploads")) == (0o700, 0o700)


def test_folder_that_holds_other_things_stays_open_to_them(tmp_path: Path) -> None:
    shared = tmp_path / "srv"
    shared.mkdir(mode=0o755)
    (shared / "letters.txt").touch(mode=0o644)
    (shared / "tarebook.sqlite3").touch(mode=0o644)
    shared.chmod(0o755)

    shut(shared)

    assert (rights(shared), rights(shared / "letters.txt")) == (0o755, 0o644)
    assert rights(shared / "tarebook.sqlite3") == 0o600


def test_empty_or_missing_folder_is_left_as_it_is(tmp_path: Path) -> None:
    tmp_path.chmod(0o755)

    shut(tmp_path)
    shut(tmp_path / "missing")
    shut_database(tmp_path / "missing" / "book.sqlite3")

    assert rights(tmp_path) == 0o755
    assert list(tmp_path.iterdir()) == []


def test_processes_that_start_at_once_go_on_with_one_key(tmp_path: Path) -> None:
    data = tmp_path / "data"
    command = [sys.executable, "-c", MAKE_KEY, str(data)]
    starting = [
        subprocess.Popen(
            command, cwd=PROJECT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )
        for _ in range(4)
    ]
    for process in starting:
        assert process.stdin
        process.stdin.write("\n")
        process.stdin.flush()
    keys = {process.communicate()[0].strip() for process in starting}

    assert keys == {(data / "secret-key").read_text()}
    assert len(keys.pop()) > 50
    assert [path.name for path in data.iterdir()] == ["secret-key"]


def test_empty_key_is_told_in_words(tmp_path: Path) -> None:
    (tmp_path / "secret-key").touch()

    with pytest.raises(ImproperlyConfigured, match=r"secret-key is empty\. Put back the one"):
        kept_secret_key(tmp_path)
    told = manage(tmp_path, "migrate")

    assert told.returncode == 1
    assert told.stderr.startswith(f"The file {tmp_path}/secret-key is empty.")
    assert "Traceback" not in told.stderr


def test_collected_static_files_may_be_read_by_the_user_that_serves_them(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The image collects them as one user and serves them as another."""
    collected = tmp_path / "static"
    monkeypatch.setenv("TAREBOOK_STATIC_ROOT", str(collected))
    kept = {name: value for name, value in os.environ.items() if name != "TAREBOOK_DATA"}
    command = [sys.executable, "manage.py", "collectstatic", "--noinput", "--verbosity=0"]
    environment = {**kept, "TAREBOOK_DATA": str(tmp_path / "data")}

    subprocess.run(command, cwd=PROJECT, env=environment, check=True, umask=0o022)

    files = [path for path in collected.rglob("*") if path.is_file()]
    folders = [collected, *(path for path in collected.rglob("*") if path.is_dir())]
    assert len(files) > 50
    assert {rights(path) & 0o044 for path in files} == {0o044}
    assert {rights(path) & 0o055 for path in folders} == {0o055}
