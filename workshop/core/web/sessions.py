"""A session lasts a working day from the last touch; that touch is noted every ten minutes.

Noting each one would write at every page that is only read, and a disk that is full would shut
everybody out of a book that can still be read. Nor does a page that is read wait for its turn to
note it while somebody else writes: the next one notes it.
"""

from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.contrib.sessions.backends.db import SessionStore as DatabaseStore
from django.contrib.sessions.exceptions import SessionInterrupted
from django.contrib.sessions.middleware import SessionMiddleware
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from workshop.core.database.at_once import at_once

NOTED_EVERY = timedelta(minutes=10)


class SessionStore(DatabaseStore):
    """The framework's store in the database, which also knows until when a session lasts."""

    ends_at: datetime | None = None

    def _get_session_from_db(self) -> Any:
        found = super()._get_session_from_db()  # type: ignore[misc]  # the stubs leave it out
        self.ends_at = found.expire_date if found else None
        return found


class WorkingDaySessions(SessionMiddleware):
    def process_response(self, request: HttpRequest, response: HttpResponse) -> HttpResponse:
        if not _note_the_touch(request.session):
            return super().process_response(request, response)
        try:
            with at_once():
                return super().process_response(request, response)
        except SessionInterrupted:  # nothing else was to be kept
            return response


def _note_the_touch(session: Any) -> bool:
    """Mark a session for keeping when its last noted touch is long ago; whether only for that."""
    if session.modified or not session.accessed or session.ends_at is None:
        return False
    fresh = timezone.now() + timedelta(seconds=settings.SESSION_COOKIE_AGE) - NOTED_EVERY
    session.modified = not session.is_empty() and session.ends_at <= fresh
    return bool(session.modified)
