"""Bring a whole book back from its file: it proves itself before it takes the place of another."""

import hashlib
import os
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.exceptions import ObjectDoesNotExist
from django.core.management.color import no_style
from django.db import IntegrityError, connection, transaction
from django.db.models import Model

from workshop.audit.all_checks import CHECKS
from workshop.core.database import triggers
from workshop.core.errors import ActionRefused
from workshop.core.progress import ProgressWatch, unwatched
from workshop.data_folder import KEY
from workshop.ledger.proof.chain_head import head
from workshop.ledger.proof.findings import Finding
from workshop.organic.pack.build import folder as packs_folder
from workshop.transfer.archive.earlier_table_shapes import FOLDED
from workshop.transfer.archive.read import Archive, opened
from workshop.transfer.archive.tables import BookTable, book_tables
from workshop.transfer.archive.write import PACKS, UPLOADS

ROWS_AT_ONCE = 2000
HALF = ".half-restored"
ASIDE = ".before-restore"
Tell = Callable[[Finding], None]


@dataclass(frozen=True)
class Restored:
    """What came back: rows and files, and the head of the chain."""

    rows: int
    files: int
    head: str


def is_empty() -> bool:
    """Whether nobody has written anything into this book."""
    return not any(table.model._base_manager.exists() for table in book_tables())


def restore(
    path: Path,
    *,
    replace: bool = False,
    watch: ProgressWatch = unwatched,
    tell: Tell = lambda _: None,
) -> Restored:
    """Fill this book from an export, whichever kind of database that came from.

    Everything happens in one transaction: killed at any moment, it leaves the old book as it was.
    Raises ActionRefused, and changes nothing, if the book is not empty (and is not to be replaced),
    the file is no whole export, or the book in it does not prove itself.
    """
    if not replace and not is_empty():
        raise ActionRefused(
            "This book is not empty. Name an empty one, or say --replace: the book that is here is"
            " then first kept as a backup."
        )
    with opened(path) as archive:
        files = _Files({UPLOADS: Path(settings.MEDIA_ROOT), PACKS: packs_folder()})
        try:
            with transaction.atomic():
                rows = _fill(archive, watch)
                placed = files.place(archive)
                _prove(archive, tell)
        except BaseException:
            files.put_back()
            raise
        files.settle()
        _keep_key(archive)
        return Restored(rows, placed, archive.head_line)


def _fill(archive: Archive, watch: ProgressWatch) -> int:
    """All rows, past the guards, which stand again at the end."""
    triggers.remove(connection)
    tables = book_tables()
    _clear([table.model for table in tables])
    total, rows = archive.rows, 0
    for some in watch(_all_rows(archive, tables), -(-total // ROWS_AT_ONCE)):
        rows += some
    _point_right()
    _count_on([table.model for table in tables])
    _fold_in(archive)
    triggers.install(connection)
    return rows


def _fold_in(archive: Archive) -> None:
    """Tables of an earlier version, each taken over into what this one has in its stead."""
    for name, take_over in FOLDED.items():
        try:
            take_over(archive.folded(name))
        except (KeyError, ValueError, ObjectDoesNotExist) as error:
            raise ActionRefused(f"The file holds rows that cannot be: {name}, {error}.") from error


def _clear(models: list[type[Model]]) -> None:
    """Empty every table of the book; whoever is signed in is signed out with it."""
    quote = connection.ops.quote_name
    names = [quote(model._meta.db_table) for model in models] + [quote("django_session")]
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(f"TRUNCATE {', '.join(names)} CASCADE")
            return
        for name in names:
            cursor.execute(f"DELETE FROM {name}")  # noqa: S608 -- our own tables


def _all_rows(archive: Archive, tables: list[BookTable]) -> Iterator[int]:
    with connection.cursor() as cursor:
        for table in tables:
            if table.name not in archive.resources:
                continue
            insert, fields, rest = _insert(archive, table)
            some: list[list[Any]] = []
            for row in archive.table(table):
                values = zip(fields, [*row, *rest], strict=True)
                some.append([field.get_db_prep_save(value, connection) for field, value in values])
                if len(some) == ROWS_AT_ONCE:
                    _write(cursor, insert, some)
                    yield len(some)
                    some = []
            if some:
                _write(cursor, insert, some)
                yield len(some)


def _insert(archive: Archive, table: BookTable) -> tuple[str, list[Any], list[Any]]:
    """The statement that puts a row in, its fields, and the values of columns that came later."""
    there = archive.columns(table)
    later = [column for column in table.columns if column not in there]
    fields = [column.field for column in (*there, *later)]
    quote = connection.ops.quote_name
    columns = ", ".join(quote(field.column) for field in fields)
    places = ", ".join(["%s"] * len(fields))
    rest = [column.field.get_default() for column in later]
    sql = f"INSERT INTO {quote(table.name)} ({columns}) VALUES ({places})"  # noqa: S608 -- our own
    return sql, fields, rest


def _write(cursor: Any, insert: str, rows: list[list[Any]]) -> None:
    try:
        cursor.executemany(insert, rows)
    except IntegrityError as error:
        raise ActionRefused(f"The file holds rows that cannot be: {error}") from error


def _point_right() -> None:
    """Every row that another one points at is there."""
    try:
        if connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        else:
            connection.check_constraints()
    except IntegrityError as error:
        raise ActionRefused(f"The file lacks rows that others point at: {error}") from error


def _count_on(models: list[type[Model]]) -> None:
    """New rows get numbers behind those that came back."""
    with connection.cursor() as cursor:
        for sql in connection.ops.sequence_reset_sql(no_style(), models):
            cursor.execute(sql)


def _prove(archive: Archive, tell: Tell) -> None:
    """Every check of the whole book, and the head that the file names."""
    wrong = []
    for check in CHECKS:
        finding = check()
        tell(finding)
        wrong += finding.problems
    newest = head()
    if (newest.line if newest else "") != archive.head_line:
        wrong.append("The chain of seals does not end as the file says.")
    if wrong:
        raise ActionRefused(
            f"The book in the file is not sound, so it does not take this one's place. {wrong[0]}"
        )


class _Files:
    """The files of a book, put beside those that are there, and back if it must be."""

    def __init__(self, folders: Mapping[str, Path]) -> None:
        self.folders = folders
        self.new: list[Path] = []
        self.aside: list[Path] = []

    def place(self, archive: Archive) -> int:
        names = [(place, name) for place in self.folders for name in archive.files(place)]
        for place, name in names:
            self._place(archive, place, name)
        return len(names)

    def _place(self, archive: Archive, place: str, name: str) -> None:
        path = self.folders[place] / name
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        half = path.with_name(path.name + HALF)
        digest = _copy(archive.file(place + name), half)
        if path.exists():
            if _digest(path) == digest:
                half.unlink()
                return
            path.replace(path.with_name(path.name + ASIDE))
            self.aside.append(path)
        else:
            self.new.append(path)
        half.replace(path)

    def put_back(self) -> None:
        for path in self.new:
            path.unlink(missing_ok=True)
        for path in self.aside:
            path.with_name(path.name + ASIDE).replace(path)
        for folder in self.folders.values():
            for half in folder.rglob(f"*{HALF}"):
                half.unlink(missing_ok=True)

    def settle(self) -> None:
        for path in self.aside:
            path.with_name(path.name + ASIDE).unlink(missing_ok=True)


def _copy(blocks: Iterator[bytes], path: Path) -> str:
    digest = hashlib.sha256()
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(descriptor, "wb") as file:
        for block in blocks:
            digest.update(block)
            file.write(block)
        file.flush()
        os.fsync(file.fileno())
    return digest.hexdigest()


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _keep_key(archive: Archive) -> None:
    """Put the key of a backup back where this book keeps its own in the data folder.

    Without it, readings that wait in a tablet would be refused. A key from the environment stays.
    """
    path = Path(settings.DATA_DIR) / KEY
    key = archive.secret_key
    with suppress(OSError):
        if key and path.read_text("ascii").strip() == settings.SECRET_KEY != key:
            fresh = path.with_name(f"{KEY}-restored")
            descriptor = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
            with os.fdopen(descriptor, "w", encoding="ascii") as file:
                file.write(key)
            fresh.replace(path)
