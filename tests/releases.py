"""A book of a former release, brought up to today's."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import connection
from django.db.migrations.executor import MigrationExecutor


def migrate(to: list[tuple[str, str]] | None = None) -> Any:
    """The tables at those migrations (today's, if none), and the models as they were then."""
    executor = MigrationExecutor(connection)
    return executor.migrate(to or executor.loader.graph.leaf_nodes()).apps


@contextmanager
def book_of(release: list[tuple[str, str]]) -> Iterator[Any]:
    """The models of that release; whatever is done to its tables, it ends as a book of today."""
    try:
        yield migrate(release)
    finally:
        migrate()
