"""`make run` after the installing: it migrates, says how to sign in, and serves."""

import os
import re
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from django.conf import settings

from tests import kept_database

PROJECT = Path(settings.BASE_DIR)


@pytest.fixture
def book(tmp_path: Path) -> dict[str, str]:
    """The environment of an empty book of its own, on a free port."""
    kept = {
        name: value
        for name, value in os.environ.items()
        if not name.startswith(("TAREBOOK_", "DATABASE_", "DJANGO_"))
    }
    kept_database.place(tmp_path)
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = str(probe.getsockname()[1])
    return {**kept, "TAREBOOK_DATA": str(tmp_path), "TAREBOOK_DEMO": "0", "PORT": port}


@contextmanager
def served(book: dict[str, str]) -> Iterator[str]:
    """The book served; gives what it said until it was told how to be stopped."""
    said = ""
    with subprocess.Popen(
        [sys.executable, "scripts/serve.py"],
        cwd=PROJECT,
        env=book,
        stdout=subprocess.PIPE,
        text=True,
    ) as server:
        try:
            assert server.stdout
            for line in server.stdout:
                if line.startswith("Stop it"):
                    break
                said += line
            yield said
        finally:
            server.terminate()


def sign_in_page(book: dict[str, str]) -> str:
    """The page, as soon as it answers."""
    address = f"http://127.0.0.1:{book['PORT']}/sign-in/"
    until = time.monotonic() + 120  # on a machine that has much else to do
    while True:
        try:
            with urllib.request.urlopen(address, timeout=20) as answer:
                return str(answer.read().decode())
        except OSError:
            assert time.monotonic() < until, "the book did not answer within two minutes"
            time.sleep(0.2)


def test_first_start_of_an_own_book_says_how_to_make_an_owner(book: dict[str, str]) -> None:
    with served(book) as said:
        page = sign_in_page(book)

    assert said == (
        f"Tarebook is at http://127.0.0.1:{book['PORT']}. Make the first owner in another "
        f"terminal:\n  TAREBOOK_DATA={book['TAREBOOK_DATA']} .venv/bin/python manage.py make_owner "
        "NAME\n"
    )
    assert "Sign in to the book" in page


def test_later_start_says_how_to_get_a_new_password(book: dict[str, str]) -> None:
    with served(book):
        sign_in_page(book)
    make_owner = [sys.executable, "manage.py", "make_owner", "anna"]
    subprocess.run(make_owner, cwd=PROJECT, env=book, check=True, stdout=subprocess.DEVNULL)

    with served(book) as said:
        pass

    assert said == (
        f"Tarebook is at http://127.0.0.1:{book['PORT']}. Sign in with the name and password you "
        "were given.\n"
        f"New password for one person:   TAREBOOK_DATA={book['TAREBOOK_DATA']} .venv/bin/python "
        "manage.py changepassword NAME\n"
    )


def test_stylesheet_has_a_name_of_its_contents(book: dict[str, str]) -> None:
    with served(book):
        page = sign_in_page(book)
        named = re.search(r'href="(/static/css/tarebook\.[0-9a-f]{12}\.css)"', page)
        assert named
        address = f"http://127.0.0.1:{book['PORT']}{named[1]}"
        with urllib.request.urlopen(address, timeout=20) as answer:
            kept = answer.headers["Cache-Control"]

    assert "immutable" in kept


@pytest.mark.parametrize(
    ("name", "content", "sentence"),
    [
        ("secret-key", b"", "The file {path} is empty."),
        ("tarebook.sqlite3", b"no database" * 1000, "The database of this book is damaged."),
    ],
)
def test_book_that_cannot_be_opened_says_why(
    book: dict[str, str], tmp_path: Path, name: str, content: bytes, sentence: str
) -> None:
    path = tmp_path / name
    path.write_bytes(content)

    told = subprocess.run(
        [sys.executable, "scripts/serve.py"],
        cwd=PROJECT,
        env=book,
        check=False,
        capture_output=True,
        text=True,
        timeout=60,
    )

    assert told.returncode == 1
    assert told.stderr.startswith(sentence.format(path=path))
    assert "Traceback" not in told.stderr
    assert str(path) in told.stderr
