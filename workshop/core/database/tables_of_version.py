"""Whether the tables of a database are those of this version, or of a later or earlier one."""

from typing import Any

from django.apps import AppConfig, apps
from django.core.management.base import CommandError
from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder
from django.db.models.signals import pre_migrate

from workshop import __version__

OURS = "workshop."


def later_changes(connection: BaseDatabaseWrapper) -> str:
    """The sentence with which a version stops before a book of a later one, or nothing."""
    ours = {config.label for config in apps.get_app_configs() if config.name.startswith(OURS)}
    loader = MigrationLoader(connection, load=False)
    loader.load_disk()
    known = set(loader.disk_migrations)
    done = MigrationRecorder(connection).applied_migrations()
    if all(key in known for key in done if key[0] in ours - loader.unmigrated_apps):
        return ""
    return (
        f"This book was last used by a later version of Tarebook; this is {__version__}, and does"
        " not know its tables. Put the later version back, or see “Rollback” in README.md."
    )


def tables_amiss(connection: BaseDatabaseWrapper) -> str:
    """The sentence for a book whose tables are not those of this version, or nothing."""
    executor = MigrationExecutor(connection)
    if executor.migration_plan(executor.loader.graph.leaf_nodes()):
        return (
            f"The tables of this book are not yet those of version {__version__}. Say first:"
            " .venv/bin/python manage.py migrate"
        )
    return later_changes(connection)


def refuse_later(*, using: str, **_: Any) -> None:
    if later := later_changes(connections[using]):
        raise CommandError(later)


def keep_from_later_books(app: AppConfig) -> None:
    """Called once, by the app of the first room: `migrate` stops before it touches anything."""
    pre_migrate.connect(refuse_later, sender=app, dispatch_uid="later tables refused")
