"""An operation for a room's squashed migration: it makes that room's tables in one step.

Which tables are guarded stands in each room's `guarded_tables.py`, and `triggers.py` sets the
guards up after each `migrate`. After each single operation
Django renders again every model that hangs together with the changed one: with tables that all
lead to one user and one ledger, an empty book took forty seconds.
"""

from collections.abc import Sequence
from typing import Any

from django.db.migrations import CreateModel
from django.db.migrations.operations.base import Operation


class CreateTables(Operation):
    """What `operations` (CreateModel, AddField, AddIndex, AddConstraint) come to, made at once."""

    reversible = False

    def __init__(self, operations: Sequence[Operation]) -> None:
        self.operations = operations

    def deconstruct(self) -> tuple[str, list[Any], dict[str, Any]]:
        return type(self).__name__, [self.operations], {}

    def state_forwards(self, app_label: str, state: Any) -> None:
        state.__dict__.pop("apps", None)  # rendered again when it is asked for, once
        for operation in self.operations:
            operation.state_forwards(app_label, state)

    def database_forwards(self, app_label: str, editor: Any, _before: Any, after: Any) -> None:
        made = [each.name for each in self.operations if isinstance(each, CreateModel)]
        for model in (after.apps.get_model(app_label, name) for name in made):
            if self.allow_migrate_model(editor.connection.alias, model):
                editor.create_model(model)

    def describe(self) -> str:
        return f"Create {sum(isinstance(each, CreateModel) for each in self.operations)} tables"
