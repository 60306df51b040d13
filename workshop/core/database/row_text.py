"""A row of a table as one line of text, put together by the database itself.

The text is a JSON array: numbers as the database keeps them, words quoted, days and moments (UTC,
to the microsecond) as words. SQLite and PostgreSQL write the same text for the same row.
"""

from collections.abc import Sequence
from typing import Any

from django.db import models
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import F, Func, Model, TextField
from django.db.models.expressions import Combinable

AS_NUMBER = (models.IntegerField, models.AutoField)


class _Written(Func):
    """One column as JSON text."""

    output_field = TextField()
    sqlite, postgresql = "json_quote(%(expressions)s)", "to_json(%(expressions)s)::text"

    def as_sqlite(self, compiler: Any, connection: BaseDatabaseWrapper, **extra: Any) -> Any:
        template = f"coalesce({self.sqlite}, 'null')"
        return self.as_sql(compiler, connection, template=template, **extra)

    def as_postgresql(self, compiler: Any, connection: BaseDatabaseWrapper, **extra: Any) -> Any:
        template = f"coalesce({self.postgresql}, 'null')"
        return self.as_sql(compiler, connection, template=template, **extra)

    def bare(self) -> Any:
        """What SQLite is to write as JSON by itself."""
        return self.get_source_expressions()[0]


class _Number(_Written):
    sqlite, postgresql = "%(expressions)s", "(%(expressions)s)::text"


class _Yes(_Written):
    sqlite, postgresql = "%(expressions)s", "(%(expressions)s)::int::text"


class _Structure(_Written):
    sqlite, postgresql = "%(expressions)s", "(%(expressions)s)::text"


class _Day(_Written):
    sqlite = "'\"' || %(expressions)s || '\"'"
    postgresql = "'\"' || to_char(%(expressions)s, 'YYYY-MM-DD') || '\"'"


class _Moment(_Written):
    sqlite = "'\"' || substr(%(expressions)s || '.000000', 1, 26) || '\"'"
    postgresql = (
        "'\"' || to_char(%(expressions)s AT TIME ZONE 'UTC', 'YYYY-MM-DD HH24:MI:SS.US') || '\"'"
    )

    def bare(self) -> Any:
        return Func(super().bare(), template="substr(%(expressions)s || '.000000', 1, 26)")


class _Row(Func):
    """Its parts between brackets, commas between them."""

    output_field = TextField()
    template, arg_joiner = "('[' || %(expressions)s || ']')", " || ',' || "

    def as_sqlite(self, compiler: Any, connection: BaseDatabaseWrapper, **extra: Any) -> Any:
        parts: Any = self.get_source_expressions()
        if any(isinstance(part, _Structure) for part in parts):
            return self.as_sql(compiler, connection, **extra)
        # One call for the row takes a quarter of the time; it would space a structure anew.
        row = Func(*(part.bare() for part in parts), function="json_array")
        return row.as_sql(compiler, connection)


def _written(field: Any, expression: Combinable) -> _Written:
    target = field.target_field if field.is_relation else field
    if isinstance(target, AS_NUMBER):
        return _Number(expression)
    for kind, written in (
        (models.BooleanField, _Yes),
        (models.JSONField, _Structure),
        (models.DateTimeField, _Moment),
        (models.DateField, _Day),
    ):
        if isinstance(target, kind):
            return written(expression)
    return _Written(expression)


def columns_of(model: type[Model], *, but_not: Sequence[str] = ()) -> tuple[str, ...]:
    """The columns of a table by their names in it, the key first."""
    fields = sorted(model._meta.concrete_fields, key=lambda field: not field.primary_key)
    return tuple(field.attname for field in fields if field.attname not in but_not)


def row_text(model: type[Model], columns: Sequence[str], **instead: Combinable) -> Func:
    """The row of `model` as text; `instead` puts another expression in a column's place."""
    by_name = {field.attname: field for field in model._meta.concrete_fields}
    parts = [_written(by_name[name], instead.get(name, F(name))) for name in columns]
    return _Row(*parts)
