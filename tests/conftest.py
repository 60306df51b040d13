"""What every test may lean on."""

from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.db.backends.signals import connection_created
from django.db.backends.sqlite3.base import DatabaseWrapper
from django.test import Client

from tests import clock, kept_database, make
from workshop.core.models import Role

_flush = DatabaseWrapper.ops_class.sql_flush


def flush_past_the_guards(self: Any, *args: Any, **options: Any) -> list[str]:
    """Empty the tables of a SQLite test database although its triggers refuse it.

    PostgreSQL truncates, which row triggers do not see; SQLite deletes row by row.
    """
    with self.connection.cursor() as cursor:
        cursor.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
        guards = cursor.fetchall()
    drops = [f"DROP TRIGGER {name}" for name, _ in guards]
    return [*drops, *_flush(self, *args, **options), *(sql for _, sql in guards)]


DatabaseWrapper.ops_class.sql_flush = flush_past_the_guards  # type: ignore[method-assign]


@pytest.fixture(scope="session")
def django_db_setup(request: pytest.FixtureRequest) -> None:
    """The test database, from the one kept for these migrations where there is one."""
    migrated = not request.config.getoption("nomigrations")
    unblocked = request.getfixturevalue("django_db_blocker").unblock
    if migrated:
        connection_created.connect(kept_database.take_kept)
        with unblocked():
            kept_database.take_template()
    request.getfixturevalue("django_db_setup")
    if migrated:
        connection_created.disconnect(kept_database.take_kept)
        with unblocked():
            kept_database.keep()


@pytest.fixture(autouse=True)
def one_clock(request: pytest.FixtureRequest) -> Iterator[None]:
    if request.node.get_closest_marker("browser"):
        yield
    else:
        with time_machine.travel(clock.NOW, tick=True):
            yield


@pytest.fixture
def vendor() -> str:
    return connection.vendor


@pytest.fixture
def signed_in(db: None) -> Any:
    """A client signed in as somebody of a role: `signed_in(Role.PACKER)`."""

    def as_role(role: Role = Role.OWNER) -> Client:
        client = Client()
        client.force_login(make.user(role), backend="django.contrib.auth.backends.ModelBackend")
        return client

    return as_role
