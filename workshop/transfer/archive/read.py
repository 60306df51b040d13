"""Reads a file that `write` made. Whatever is wrong with it is said in a sentence."""

import csv
import errno
import hashlib
import io
import json
import struct
import sys
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path, PurePosixPath
from typing import Any, TypeVar

from workshop import __version__
from workshop.core.errors import ActionRefused
from workshop.transfer.archive.earlier_table_shapes import FOLDED
from workshop.transfer.archive.tables import BookTable, Column, Unreadable, book_tables
from workshop.transfer.archive.write import HEAD, KEY, PACKAGE, migrations_done

BLOCK = 1024 * 1024
LARGEST_PACKAGE = 16 * BLOCK
BROKEN = (
    zipfile.BadZipFile,
    zlib.error,
    EOFError,
    NotImplementedError,
    RuntimeError,
    UnicodeDecodeError,
    struct.error,
)
# What `write` packs with; by another way a changed byte would have the file unpacked.
WAYS = {zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED}
NOT_WHOLE = "The file is not a whole export of a book: {why} Take another copy of it."

Row = list[Any]
T = TypeVar("T")


@contextmanager
def opened(path: Path) -> Iterator["Archive"]:
    """Raises ActionRefused for a file that is missing, cut off, or something else."""
    try:
        with zipfile.ZipFile(path) as book:
            yield Archive(book)
    except FileNotFoundError as error:
        raise ActionRefused(f"There is no file {path}.") from error
    except BROKEN as error:
        raise ActionRefused(NOT_WHOLE.format(why=f"{error}.")) from error
    except OSError as error:
        if error.errno != errno.EINVAL:  # which is to look where no file has a place
            raise
        raise ActionRefused(NOT_WHOLE.format(why="it names places beyond its ends.")) from error


class Archive:
    """An export: what it says of itself, its tables row by row, and its files."""

    def __init__(self, book: zipfile.ZipFile) -> None:
        self.book = book
        if not all(entry.compress_type in WAYS for entry in book.infolist()):
            raise ActionRefused(NOT_WHOLE.format(why="it is packed in another way."))
        self.names = set(book.namelist())
        self.package = self._package()
        self.about: dict[str, Any] = self.package["tarebook"]
        self.resources: dict[str, Any] = {one["name"]: one for one in self.package["resources"]}
        self._refuse_later()

    @property
    def head_line(self) -> str:
        return self._text(HEAD).strip()

    @property
    def secret_key(self) -> str:
        """The key that a backup carries, or nothing."""
        return self._text(KEY).strip() if KEY in self.names else ""

    @property
    def rows(self) -> int:
        return sum(resource["rows"] for resource in self.resources.values())

    def _text(self, name: str) -> str:
        if name not in self.names:
            raise ActionRefused(NOT_WHOLE.format(why=f"it has no {name}."))
        if self.book.getinfo(name).file_size > LARGEST_PACKAGE:
            raise ActionRefused(NOT_WHOLE.format(why=f"its {name} is far too long."))
        return self.book.read(name).decode("utf-8", "replace")

    def _package(self) -> Any:
        try:
            package = json.loads(self._text(PACKAGE))
            for names in package["tarebook"]["migrations"].values():
                set(names)
            for one in package["resources"]:
                {one["name"], one["path"], one["rows"] + 0, one["hash"]}
                {field["name"] for field in one["schema"]["fields"]}
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
            raise ActionRefused(NOT_WHOLE.format(why=f"{PACKAGE} cannot be read.")) from error
        return package

    def _refuse_later(self) -> None:
        """A later version may keep what this one knows nothing of."""
        known = migrations_done()
        tables = {table.name for table in book_tables()} | set(FOLDED)
        later = [
            app
            for app, names in self.about["migrations"].items()
            if not set(names) <= set(known.get(app, ()))
        ]
        if later or not set(self.resources) <= tables:
            raise ActionRefused(
                f"The file was made by version {self.about.get('version')}, and this version"
                f" {__version__} does not know its tables. Restore it with that version or later."
            )

    def table(self, table: BookTable) -> Iterator[Row]:
        """The rows of one table, each value in the order of `columns`.

        Raises ActionRefused at the first that cannot be, and at the end if any byte differs.
        """
        if table.name in self.resources:  # else it came with this version
            columns = self.columns(table)
            yield from self._read(table.name, lambda lines: _values(lines, columns))

    def folded(self, name: str) -> Iterator[dict[str, str]]:
        """The rows of a table that this version has in another shape, as they are written."""
        if name in self.resources:
            yield from self._read(name, _cells)

    def _read(self, name: str, told: Callable[[Iterator[list[str]]], Iterator[T]]) -> Iterator[T]:
        resource = self.resources[name]
        csv.field_size_limit(sys.maxsize)
        if resource["path"] not in self.names:
            raise ActionRefused(NOT_WHOLE.format(why=f"it has no {resource['path']}."))
        with self.book.open(resource["path"]) as file:
            digested = _Digested(file)
            text = io.TextIOWrapper(io.BufferedReader(digested), encoding="utf-8", newline="")
            number = 0
            try:
                for row in told(csv.reader(text)):
                    yield row
                    number += 1
            except (Unreadable, UnicodeDecodeError, csv.Error) as error:
                where = f"{resource['path']}, row {number + 1}: {error}"
                raise ActionRefused(NOT_WHOLE.format(why=where)) from error
        if digested.said != resource["hash"] or number != resource["rows"]:
            raise ActionRefused(NOT_WHOLE.format(why=f"{resource['path']} was changed."))

    def columns(self, table: BookTable) -> list[Column]:
        """The columns that the file has; those that came with a later version take their default.

        Raises ActionRefused where a column has no default, or is not one of this version.
        """
        resource = self.resources[table.name]
        there = [field["name"] for field in resource["schema"]["fields"]]
        ours = {column.name: column for column in table.columns}
        lacking = [
            name
            for name, column in ours.items()
            if name not in there and not (column.field.null or column.field.has_default())
        ]
        if lacking or not set(there) <= set(ours):
            raise ActionRefused(
                f"The table {table.name} is of version {self.about.get('version')} and has other"
                f" columns. Restore it with that version, and upgrade then."
            )
        return [ours[name] for name in there]

    def files(self, place: str) -> Iterator[str]:
        """The names of the files in a place of it; ActionRefused for one that leads away."""
        for name in sorted(self.names):
            if name.startswith(place) and not name.endswith("/"):
                inside = PurePosixPath(name.removeprefix(place))
                if inside.is_absolute() or ".." in inside.parts or "\\" in name:
                    raise ActionRefused(NOT_WHOLE.format(why=f"{name} would leave its folder."))
                if place + str(inside) != name:
                    raise ActionRefused(NOT_WHOLE.format(why=f"{name} is no name of a file."))
                yield str(inside)

    def file(self, name: str) -> Iterator[bytes]:
        with self.book.open(name) as file:
            while block := file.read(BLOCK):
                yield block


class _Digested(io.RawIOBase):
    """A file that digests what is read of it."""

    def __init__(self, file: Any) -> None:
        super().__init__()
        self.file, self.digest = file, hashlib.sha256()

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: Any) -> int:
        block = self.file.read(len(buffer))
        self.digest.update(block)
        buffer[: len(block)] = block
        return len(block)

    @property
    def said(self) -> str:
        return f"sha256:{self.digest.hexdigest()}"


def _cells(lines: Iterator[list[str]]) -> Iterator[dict[str, str]]:
    heads = next(lines, [])
    for line in lines:
        if len(line) != len(heads):
            raise Unreadable(f"{len(line)} cells where {len(heads)} columns are.")
        yield dict(zip(heads, line, strict=True))


def _values(lines: Any, columns: list[Column]) -> Iterator[Row]:
    heads: list[str] = next(lines, [])
    if heads != [column.name for column in columns]:
        raise Unreadable("its header is not the one described.")
    readers = [column.value for column in columns]
    for line in lines:
        if len(line) != len(readers):
            raise Unreadable(f"{len(line)} cells where {len(readers)} columns are.")
        yield [read(cell) for read, cell in zip(readers, line, strict=True)]
