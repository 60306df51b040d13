"""Makes this version's small book, which tests of later versions upgrade: tests/setup/books/.

Run by `make book`, once for each version, when its tables will not change any more.
"""

import io
import os
import sqlite3
import sys
import tarfile
import tempfile
from importlib import import_module
from pathlib import Path

import django
from django.core.management import call_command

PROJECT = Path(__file__).resolve().parent.parent
BOOKS = PROJECT / "tests" / "setup" / "books"
MOST_BYTES = 200_000
sys.path.insert(0, str(PROJECT))

from workshop import __version__  # noqa: E402  the project is no installed package


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        data = Path(folder) / "data"
        data.mkdir()
        fill(data)
        kept = keep(data)
    print(f"{kept.relative_to(PROJECT)}: {kept.stat().st_size:,} bytes")


def fill(data: Path) -> None:
    """A book in which every table has rows and every kind of operation is sealed."""
    os.environ["TAREBOOK_DATA"] = str(data)
    os.environ["DATABASE_URL"] = f"sqlite:///{data / 'tarebook.sqlite3'}"
    os.environ["DJANGO_SETTINGS_MODULE"] = "workshop.settings"
    django.setup()
    call_command("migrate", verbosity=0)
    import_module("tests.audit.whole_book").whole_book()  # its tables need the settings first
    call_command("check_ledger")


def keep(data: Path) -> Path:
    """The book as SQL, and the files that were handed in, in one archive."""
    with sqlite3.connect(data / "tarebook.sqlite3") as book:
        sql = "\n".join(book.iterdump()).encode()
    book.close()
    BOOKS.mkdir(exist_ok=True)
    kept = BOOKS / f"{__version__}.tar.gz"
    with tarfile.open(kept, "w:gz") as archive:
        archive.addfile(nameless("book.sql", len(sql)), io.BytesIO(sql))
        archive.add(data / "uploads", "uploads", filter=ours_alone)
    if kept.stat().st_size > MOST_BYTES:
        sys.exit(f"The book is too large to keep: more than {MOST_BYTES:,} bytes.")
    return kept


def nameless(name: str, size: int) -> tarfile.TarInfo:
    entry = tarfile.TarInfo(name)
    entry.size = size
    return entry


def ours_alone(entry: tarfile.TarInfo) -> tarfile.TarInfo:
    """Without the names of the person and the machine that made it."""
    entry.uid = entry.gid = 0
    entry.uname = entry.gname = ""
    return entry


if __name__ == "__main__":
    main()
