"""What a person is told when nothing is there, or when the disk or the database fails."""

import errno
import sqlite3
import sys

from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string

from workshop.core.web.send_again import sent

FULL = (
    "The disk of the machine that keeps this book is full. Nothing was saved. What is in the book "
    "can still be read; make room on the disk before anything else is recorded."
)
READ_ONLY = (
    "The database takes no entries at the moment; it can only be read. Nothing was saved. Tell "
    "whoever looks after the machine that keeps this book."
)
DAMAGED = (
    "The database of this book is damaged. Record nothing more: stop the book, keep the damaged "
    "file, and put the last backup in its place."
)
AWAY = (
    "The database of this book does not answer. Nothing was saved. Try again in a minute; if it "
    "stays so, tell whoever looks after the machine that keeps this book."
)
BUSY = (
    "The book is being written to by a long act, such as an import. It can be read meanwhile, and "
    "takes other entries as soon as that has ended. Nothing was lost, and nothing of this was "
    "saved: send it again in a minute."
)
AGAIN_AFTER_S = 30
# Error codes of SQLite, and the classes of PostgreSQL's (SQLSTATE): appendix A of its manual.
SQLITE = {
    sqlite3.SQLITE_FULL: FULL,
    sqlite3.SQLITE_READONLY: READ_ONLY,
    sqlite3.SQLITE_CORRUPT: DAMAGED,
    sqlite3.SQLITE_NOTADB: DAMAGED,
    sqlite3.SQLITE_CANTOPEN: AWAY,
    sqlite3.SQLITE_IOERR: AWAY,
    sqlite3.SQLITE_BUSY: BUSY,
}
POSTGRESQL = {
    "53100": FULL,
    "25006": READ_ONLY,
    "55P03": BUSY,
    "XX001": DAMAGED,
    "XX002": DAMAGED,
}
CONNECTION_LOST = ("08", "57P", "53300")


def sentence_for(error: BaseException | None) -> str:
    """What to tell whoever asked, or nothing when the fault is none of the machine's."""
    if isinstance(error, DatabaseError):
        return _sentence_for_database(error.__cause__)
    if isinstance(error, OSError) and error.errno == errno.ENOSPC:
        return FULL
    return ""


def _sentence_for_database(cause: BaseException | None) -> str:
    if code := getattr(cause, "sqlite_errorcode", None):
        return SQLITE.get(code & 0xFF, "")  # the low byte; above it stand finer reasons
    state = getattr(cause, "sqlstate", None)
    if state is None:
        return AWAY if type(cause).__name__ == "OperationalError" else ""
    return POSTGRESQL.get(state, AWAY if state.startswith(CONNECTION_LOST) else "")


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """The page for an address of nothing; with a sentence where ours gave one."""
    said = exception.args[0] if exception.args else ""
    is_ours = isinstance(said, str) and not said.endswith("matches the given query.")
    return render(request, "404.html", {"said": said if is_ours else ""}, status=404)


def broken(request: HttpRequest) -> HttpResponse:
    """The page for an error of the server; it asks the database for nothing."""
    said = sentence_for(sys.exception())
    if not said:
        return HttpResponse(render_to_string("500.html"), status=500)
    form = sent(request) if said != DAMAGED else None
    page = "not_taken.html" if form else "500.html"
    return HttpResponse(
        render_to_string(page, {"said": said, "sent": form}),
        status=503,
        headers={"Retry-After": str(AGAIN_AFTER_S)},
    )
