"""Writes the book as one ZIP file, row by row: it takes as little memory for a large book."""

import csv
import hashlib
import io
import json
import zipfile
from collections.abc import Iterator
from typing import IO, Any

from django.conf import settings
from django.db.migrations.recorder import MigrationRecorder

from workshop import __version__
from workshop.core.files.uploads import LARGEST_BYTES
from workshop.core.models import Upload
from workshop.ledger.proof.chain_head import head
from workshop.organic.models import Pack
from workshop.organic.pack.build import archive_of
from workshop.transfer.archive.snapshot import one_moment
from workshop.transfer.archive.tables import BookTable, book_tables, models_kept

ROWS_AT_ONCE = 2000
# One content, one file: nothing in it says when it was made.
NO_TIME = (1980, 1, 1, 0, 0, 0)
PROFILE = "https://datapackage.org/profiles/2.0/datapackage.json"
PACKAGE, HEAD, READ_ME, KEY = "datapackage.json", "head.txt", "README.txt", "secret-key"
UPLOADS, PACKS = "uploads/", "packs/"
BLOCK = 1024 * 1024
ABOUT = """\
This file holds a whole book of Tarebook, version {version}.

datapackage.json  describes every table: a Data Package with Table Schemas (Frictionless Data,
                  version 2, datapackage.org), with rows and SHA-256 of each file
tables/           the tables as CSV (RFC 4180, UTF-8), a header first
uploads/          the files that were handed in, under the names that core_upload.csv gives
packs/            the packs made for inspections, under the SHA-256 that organic_pack.csv gives
head.txt          the last link of the chain of seals (ledger_seal.csv has them all)

Days and moments are written as ISO 8601 does, moments in UTC; quantities in the unit of their
item (grams or pieces). A text that a spreadsheet program would run as a formula has an apostrophe
before it, and so has one that begins with an apostrophe; take one away to get the text as it was.
An empty cell is nothing; a lone apostrophe is an empty text where nothing is possible too.

Keep this file as safe as the book: it holds names, addresses, and the scrambled passwords.
To bring it back:   manage.py restore THIS-FILE
"""


class Outflow(io.RawIOBase):
    """Takes what is written until somebody fetches it; it cannot be wound back."""

    def __init__(self) -> None:
        super().__init__()
        self.waiting: list[bytes] = []

    def writable(self) -> bool:
        return True

    def write(self, data: Any) -> int:
        self.waiting.append(bytes(data))
        return len(data)

    def fetch(self) -> bytes:
        taken, self.waiting = b"".join(self.waiting), []
        return taken


class Counted:
    """A file of the ZIP that counts and digests what goes into it."""

    def __init__(self, file: Any) -> None:
        self.file, self.size, self.digest = file, 0, hashlib.sha256()

    def write(self, data: bytes) -> None:
        self.size += len(data)
        self.digest.update(data)
        self.file.write(data)

    def described(self) -> dict[str, Any]:
        return {"bytes": self.size, "hash": f"sha256:{self.digest.hexdigest()}"}


def archive(*, with_key: bool = False) -> Iterator[bytes]:
    """The book as it is at this moment, piece by piece. With the key it is a backup."""
    out = Outflow()
    with one_moment(), zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as book:
        for _ in _parts(book, with_key=with_key):
            yield out.fetch()
    yield out.fetch()


def _parts(book: zipfile.ZipFile, *, with_key: bool) -> Iterator[None]:
    resources: list[dict[str, Any]] = []
    _text(book, READ_ME, ABOUT.format(version=__version__))
    for table in book_tables():
        yield from _table(book, table, resources)
    yield from _uploads(book)
    yield from _packs(book)
    newest = head()
    _text(book, HEAD, f"{newest.line}\n" if newest else "")
    if with_key:
        _text(book, KEY, f"{settings.SECRET_KEY}\n")
    package = _package(resources, newest.line if newest else "")
    _text(book, PACKAGE, json.dumps(package, ensure_ascii=False, indent=1) + "\n")
    yield


def _info(name: str) -> zipfile.ZipInfo:
    info = zipfile.ZipInfo(name, NO_TIME)
    info.compress_type = zipfile.ZIP_DEFLATED
    info.external_attr = 0o600 << 16
    return info


def _open(book: zipfile.ZipFile, name: str) -> IO[bytes]:
    return book.open(_info(name), "w", force_zip64=True)


def _text(book: zipfile.ZipFile, name: str, text: str) -> None:
    with book.open(_info(name), "w", force_zip64=True) as file:
        file.write(text.encode())


def _table(
    book: zipfile.ZipFile, table: BookTable, resources: list[dict[str, Any]]
) -> Iterator[None]:
    """One CSV file; the rows in the order of their keys."""
    rows = 0
    with book.open(_info(table.path), "w", force_zip64=True) as file:
        counted = Counted(file)
        counted.write(_lines([[column.name for column in table.columns]]))
        for some in _cells(table):
            rows += len(some)
            counted.write(_lines(some))
            yield
    resources.append(
        {
            "name": table.name,
            "path": table.path,
            "title": str(table.model._meta.verbose_name),
            "format": "csv",
            "mediatype": "text/csv",
            "encoding": "utf-8",
            **counted.described(),
            "rows": rows,
            "schema": table.described(),
        }
    )


def _cells(table: BookTable) -> Iterator[list[list[str]]]:
    writers = [column.cell for column in table.columns]
    names = [column.name for column in table.columns]
    rows = table.model._base_manager.order_by("pk").values_list(*names)
    some: list[list[str]] = []
    for row in rows.iterator(ROWS_AT_ONCE):
        some.append([write(value) for write, value in zip(writers, row, strict=True)])
        if len(some) == ROWS_AT_ONCE:
            yield some
            some = []
    if some:
        yield some


def _lines(rows: list[list[str]]) -> bytes:
    text = io.StringIO()
    csv.writer(text).writerows(rows)
    return text.getvalue().encode()


def _uploads(book: zipfile.ZipFile) -> Iterator[None]:
    """Files are only ever added, so whatever a row names is there, or was lost before."""
    for upload in Upload.objects.order_by("pk").iterator(ROWS_AT_ONCE):
        name = upload.file.name
        try:
            with upload.file.storage.open(name) as file:
                content = file.read(LARGEST_BYTES * 2)
        except FileNotFoundError:
            continue  # the proof names it, here and where this is restored
        with book.open(_info(UPLOADS + name), "w", force_zip64=True) as kept:
            kept.write(content)
        yield


def _packs(book: zipfile.ZipFile) -> Iterator[None]:
    """The packs that are still kept, piece by piece: what was handed over must be known again."""
    for pack in Pack.objects.order_by("pk"):
        kept = archive_of(pack)
        try:
            with kept.open("rb") as file, _open(book, PACKS + kept.name) as copy:
                while block := file.read(BLOCK):
                    copy.write(block)
                    yield
        except FileNotFoundError:
            continue  # its page says so


def migrations_done() -> dict[str, list[str]]:
    """Of each room, the changes of its tables that this book has had."""
    labels = {model._meta.app_label for model in models_kept()}
    done: dict[str, list[str]] = {}
    for app, name in MigrationRecorder.Migration.objects.order_by("app", "name").values_list(
        "app", "name"
    ):
        if app in labels:
            done.setdefault(app, []).append(name)
    return done


def _package(resources: list[dict[str, Any]], line: str) -> dict[str, Any]:
    return {
        "$schema": PROFILE,
        "name": "tarebook",
        "title": "A whole book of Tarebook",
        "tarebook": {"version": __version__, "head": line, "migrations": migrations_done()},
        "resources": resources,
    }
