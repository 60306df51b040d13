"""How guards are made and set up: rules the database itself keeps, on SQLite and PostgreSQL.

Each room lists its own as `GUARDS` in its `guarded_tables.py`. They are no part of any migration:
what `migrate` runs finds the tables without them, and the whole list is set up again after it.
What a new field of a guarded table asks for: `docs/adding.md`.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Literal

from django.apps import AppConfig
from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models.signals import post_migrate, pre_migrate

from workshop.core.database.room_modules import said_by_rooms

Event = Literal["INSERT", "UPDATE", "DELETE"]

IN_SQLITE = "SELECT name, sql, '' FROM sqlite_master WHERE type = 'trigger'"
IN_POSTGRESQL = """
SELECT shield.tgname,
       pg_get_triggerdef(shield.oid) || ' ' || (shield.tgenabled <> 'D'),
       worker.prosrc
  FROM pg_trigger AS shield
  JOIN pg_proc AS worker ON worker.oid = shield.tgfoid
  JOIN pg_class AS room ON room.oid = shield.tgrelid
  JOIN pg_namespace AS space ON space.oid = room.relnamespace
 WHERE NOT shield.tgisinternal AND space.nspname = current_schema()
"""


@dataclass(frozen=True)
class Trigger:
    """Refuse `event` on `table` where `condition` (over OLD and NEW) holds, with a sentence."""

    name: str
    table: str
    event: Event
    condition: str
    sentence: str

    @property
    def _quoted(self) -> str:
        return self.sentence.replace("'", "''")

    @property
    def body(self) -> str:
        """What PostgreSQL runs for each row."""
        kept = "OLD" if self.event == "DELETE" else "NEW"
        return (
            f" BEGIN IF {self.condition} THEN RAISE EXCEPTION '{self._quoted}'"
            f" USING ERRCODE = 'integrity_constraint_violation'; END IF; RETURN {kept}; END "
        )

    def statements(self, vendor: str) -> list[str]:
        if vendor == "sqlite":
            return [
                f"CREATE TRIGGER {self.name} BEFORE {self.event} ON {self.table} FOR EACH ROW"
                f" WHEN {self.condition} BEGIN SELECT RAISE(ABORT, '{self._quoted}'); END"
            ]
        return [
            f"CREATE OR REPLACE FUNCTION {self.name}() RETURNS trigger LANGUAGE plpgsql"
            f" AS $${self.body}$$",
            f"CREATE TRIGGER {self.name} BEFORE {self.event} ON {self.table}"
            f" FOR EACH ROW EXECUTE FUNCTION {self.name}()",
        ]

    def definition(self, vendor: str) -> tuple[str, str]:
        """As `existing` reads it back from a database that has it."""
        if vendor == "sqlite":
            return self.statements(vendor)[0], ""
        return (
            f"CREATE TRIGGER {self.name} BEFORE {self.event} ON {self.table}"
            f" FOR EACH ROW EXECUTE FUNCTION {self.name}() true",
            self.body,
        )


def append_only(table: str) -> list[Trigger]:
    """Rows of `table` may be added, never changed or removed."""
    sentence = f"Rows of {table} are only ever added."
    return [
        Trigger(f"{table}_no_update", table, "UPDATE", "1 = 1", sentence),
        Trigger(f"{table}_no_delete", table, "DELETE", "1 = 1", sentence),
    ]


def behind_closed(table: str, operation: str, *events: Event) -> list[Trigger]:
    """Rows of `table` do not change while the operation they belong to is closed.

    `operation` is SQL for its key, with {row} where OLD or NEW goes.
    """
    closed = f"EXISTS (SELECT 1 FROM ledger_operation WHERE id = {operation}"  # noqa: S608 -- constants
    closed += " AND closed_at IS NOT NULL)"
    touched = {"INSERT": ("NEW",), "UPDATE": ("OLD", "NEW"), "DELETE": ("OLD",)}
    return [
        Trigger(
            f"{table}_{event.lower()}_behind_closed",
            table,
            event,
            " OR ".join(closed.format(row=row) for row in touched[event]),
            "What this belongs to is closed and sealed; only an amendment opens it again.",
        )
        for event in events or ("INSERT", "UPDATE", "DELETE")
    ]


def registry() -> list[Trigger]:
    """Every guard of every room."""
    return [guard for guards in said_by_rooms("guarded_tables", "GUARDS") for guard in guards]


def existing(connection: BaseDatabaseWrapper) -> dict[str, tuple[str, str]]:
    """All triggers that the database has: by name, its definition and what its function says."""
    with connection.cursor() as cursor:
        cursor.execute(IN_SQLITE if connection.vendor == "sqlite" else IN_POSTGRESQL)
        return {
            name: (definition.replace(f"{_schema(connection)}.", ""), body)
            for name, definition, body in cursor.fetchall()
        }


def _schema(connection: BaseDatabaseWrapper) -> str:
    return "public" if connection.vendor == "postgresql" else "main"


def differences(connection: BaseDatabaseWrapper) -> list[str]:
    """A sentence for each guard that is missing, changed, or not one of ours."""
    present, guards = existing(connection), registry()
    told = []
    for guard in guards:
        found = present.get(guard.name)
        if found is None:
            told.append(f"The guard {guard.name} is missing: {guard.sentence}")
        elif found != guard.definition(connection.vendor):
            told.append(f"The guard {guard.name} is not as it should be: {guard.sentence}")
    strangers = sorted(present.keys() - {guard.name for guard in guards})
    return [*told, *(f"The database has a trigger that is not ours: {name}." for name in strangers)]


def install(connection: BaseDatabaseWrapper) -> None:
    """Give the database exactly the guards of the registry; what is right already stays."""
    tables = set(connection.introspection.table_names())
    guards = {guard.name: guard for guard in registry() if guard.table in tables}
    present = existing(connection)
    right = {
        name
        for name, guard in guards.items()
        if present.get(name) == guard.definition(connection.vendor)
    }
    _drop(connection, present.keys() - right)
    with connection.cursor() as cursor:
        for name in guards.keys() - right:
            for statement in guards[name].statements(connection.vendor):
                cursor.execute(statement)


def remove(connection: BaseDatabaseWrapper) -> None:
    """Take all guards away, as a migration that rebuilds or fills a guarded table needs."""
    _drop(connection, existing(connection))


def _drop(connection: BaseDatabaseWrapper, names: Iterable[str]) -> None:
    sql = {
        "sqlite": "DROP TRIGGER IF EXISTS {0}",
        "postgresql": "DROP FUNCTION IF EXISTS {0}() CASCADE",
    }[connection.vendor]
    with connection.cursor() as cursor:
        for name in names:
            cursor.execute(sql.format(connection.ops.quote_name(name)))


def before_migrating(*, using: str, plan: list[Any], **_: Any) -> None:
    if plan:
        remove(connections[using])


def after_migrating(*, using: str, **_: Any) -> None:
    install(connections[using])


def keep_through_migrations(app: AppConfig) -> None:
    """Called once, by the app of the first room: its signals stand for the whole `migrate`."""
    pre_migrate.connect(before_migrating, sender=app, dispatch_uid="guards taken away")
    post_migrate.connect(after_migrating, sender=app, dispatch_uid="guards set up")
