"""Rules the database itself keeps, written once for SQLite and PostgreSQL."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from django.db import migrations
from django.db.backends.base.base import BaseDatabaseWrapper

Event = Literal["INSERT", "UPDATE", "DELETE"]
Step = Callable[[Any, Any], None]


@dataclass(frozen=True)
class Trigger:
    """Refuse `event` on `table` where `condition` (over OLD and NEW) holds, with a sentence.

    A migration that makes SQLite rebuild `table` loses its triggers: run `drop` before, and
    `create` after it.
    """

    name: str
    table: str
    event: Event
    condition: str
    sentence: str

    def statements(self, vendor: str) -> list[str]:
        sentence = self.sentence.replace("'", "''")
        if vendor == "sqlite":
            return [
                f"CREATE TRIGGER {self.name} BEFORE {self.event} ON {self.table} FOR EACH ROW"
                f" WHEN {self.condition} BEGIN SELECT RAISE(ABORT, '{sentence}'); END"
            ]
        kept = "OLD" if self.event == "DELETE" else "NEW"
        return [
            f"CREATE FUNCTION {self.name}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN"
            f" IF {self.condition} THEN RAISE EXCEPTION '{sentence}'"
            f" USING ERRCODE = 'integrity_constraint_violation'; END IF; RETURN {kept}; END $$",
            f"CREATE TRIGGER {self.name} BEFORE {self.event} ON {self.table}"
            f" FOR EACH ROW EXECUTE FUNCTION {self.name}()",
        ]


def append_only(table: str) -> list[Trigger]:
    """Rows of `table` may be added, never changed or removed."""
    sentence = f"Rows of {table} are only ever added."
    return [
        Trigger(f"{table}_no_update", table, "UPDATE", "1 = 1", sentence),
        Trigger(f"{table}_no_delete", table, "DELETE", "1 = 1", sentence),
    ]


def create(*triggers: Trigger) -> migrations.RunPython:
    """The migration step that sets these triggers up."""
    return migrations.RunPython(_setting_up(triggers), _taking_away(triggers))


def drop(*triggers: Trigger) -> migrations.RunPython:
    """The migration step that takes these triggers away; backwards it sets them up."""
    return migrations.RunPython(_taking_away(triggers), _setting_up(triggers))


def _setting_up(triggers: Sequence[Trigger]) -> Step:
    def step(_: Any, editor: Any) -> None:
        for trigger in triggers:
            for statement in trigger.statements(editor.connection.vendor):
                editor.execute(statement)

    return step


def _taking_away(triggers: Sequence[Trigger]) -> Step:
    def step(_: Any, editor: Any) -> None:
        for trigger in reversed(triggers):
            if editor.connection.vendor == "sqlite":
                editor.execute(f"DROP TRIGGER {trigger.name}")
            else:
                editor.execute(f"DROP FUNCTION {trigger.name}() CASCADE")

    return step


def existing(connection: BaseDatabaseWrapper) -> set[str]:
    """The names of all triggers that the database has."""
    sql = {
        "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger'",
        "postgresql": "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled <> 'D'",
    }
    with connection.cursor() as cursor:
        cursor.execute(sql[connection.vendor])
        return {row[0] for row in cursor.fetchall()}
