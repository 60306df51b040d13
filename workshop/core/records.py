"""What a seal covers: each room says in its `records.py` which of its tables belong to what.

`RECORDS` names, by the kind of operation, the tables whose rows are part of its record. `LOGS`
names tables that are only ever added to and belong to no closed record: each seal covers what was
written into them since the seal before. The history of master data is covered so without being
named. What is sealed and what is proved come from these lists alone.
"""

import json
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache, cached_property
from importlib import import_module
from types import ModuleType
from typing import Any

from django.apps import apps
from django.db import connection
from django.db.models import F, Model, Q, QuerySet
from django.db.models.expressions import Combinable
from django.utils.module_loading import module_has_submodule

from workshop.core.rowtext import columns_of, row_text

Texts = dict[int, list[str]]
DENSE = 4


class Section:
    """How the rows of one table begin in a record: its key and the names of its columns."""

    @cached_property
    def key(self) -> str:
        raise NotImplementedError

    @cached_property
    def columns(self) -> tuple[str, ...]:
        raise NotImplementedError

    @cached_property
    def opening(self) -> str:
        columns = json.dumps(self.columns, separators=(",", ":"))
        return f'"{self.key}":{{"columns":{columns},"rows":['


@dataclass(frozen=True, eq=False)
class Table(Section):
    """Rows of one table that belong to an operation, found by the path `operation`.

    What `grows` is only ever added to: an earlier seal of an amended operation still holds of the
    rows it knew. Of other tables the newest seal alone says how they are.
    """

    model: type[Model]
    operation: str
    grows: bool = False
    name: str = ""
    only: tuple[str, ...] = ()
    but_not: tuple[str, ...] = ()
    instead: Mapping[str, Combinable] = field(default_factory=dict)

    @cached_property
    def key(self) -> str:
        return self.name or self.model._meta.db_table

    @cached_property
    def columns(self) -> tuple[str, ...]:
        return self.only or columns_of(self.model, but_not=self.but_not)

    def texts(self, operations: Collection[int]) -> Texts:
        """The rows of each of these operations as text, in the order they were written."""
        rows = self.model._base_manager.filter(among(self.operation, operations)).order_by("pk")
        found: Texts = defaultdict(list)
        text = row_text(self.model, self.columns, **self.instead)
        for operation, row in _fetched(rows.values_list(F(self.operation), text)):
            found[operation].append(row)
        return found


@dataclass(frozen=True, eq=False)
class Log(Section):
    """A table that is only ever added to; `final` says which of its rows will not change."""

    model: type[Model]
    final: Q | None = None
    but_not: tuple[str, ...] = ()

    @cached_property
    def key(self) -> str:
        return self.model._meta.db_table

    @cached_property
    def columns(self) -> tuple[str, ...]:
        return columns_of(self.model, but_not=self.but_not)

    @property
    def rows(self) -> QuerySet[Any]:
        rows = self.model._base_manager.order_by("pk")
        return rows if self.final is None else rows.filter(self.final)

    def texts(self, which: Q) -> dict[int, str]:
        """The final rows among `which` as text, by key."""
        text = row_text(self.model, self.columns)
        return dict(_fetched(self.rows.filter(which).values_list("pk", text)))


def among(path: str, numbers: Collection[int]) -> Q:
    """Rows whose `path` is one of these keys, and perhaps of others that lie between them.

    A thousand keys in a list take the framework longer than the database; where they lie close
    together, the first and the last are enough.
    """
    first, last = min(numbers), max(numbers)
    if last - first > DENSE * len(numbers):
        return Q(**{f"{path}__in": list(numbers)})
    return Q(**{f"{path}__gte": first, f"{path}__lte": last})


def _fetched(rows: QuerySet[Any, Any]) -> list[tuple[int, str]]:
    # Past the framework's own loop over rows, which takes longer than the database does.
    sql, params = rows.query.sql_with_params()
    with connection.cursor() as cursor:
        cursor.execute(sql, params)
        found: list[tuple[int, str]] = cursor.fetchall()
    return found


def historical_models() -> list[type[Model]]:
    """The tables of history of all master data, those of their many-to-many fields with them."""
    found: list[type[Model]] = []
    for model in filter(is_kept_in_history, apps.get_models()):
        found += [history_of(model), *history_of_many(model).values()]
    return found


def is_kept_in_history(model: type[Model]) -> bool:
    return hasattr(model._meta, "simple_history_manager_attribute")


def history_of(model: type[Model]) -> Any:
    """The table that keeps the history of a table of master data."""
    return getattr(model, model._meta.simple_history_manager_attribute).model  # type: ignore[attr-defined]


def history_of_many(model: type[Model]) -> dict[Any, type[Model]]:
    """By each many-to-many field that is kept in history, the table that keeps it."""
    history = history_of(model)
    rows = {one.related_model for one in history._meta.related_objects}
    return {
        many: next(
            table
            for table in rows
            if many.m2m_reverse_field_name() in {each.name for each in table._meta.fields}
        )
        for many in getattr(history, "_history_m2m_fields", [])
    }


def _modules() -> Iterable[ModuleType]:
    for app in apps.get_app_configs():
        if module_has_submodule(app.module, "records"):
            module = import_module(f"{app.name}.records")
            if hasattr(module, "LOGS"):
                yield module


@cache
def tables_of(kind: str) -> tuple[Table, ...]:
    """The tables whose rows are part of the record of an operation of this kind."""
    tables = [table for module in _modules() for table in module.RECORDS.get(kind, ())]
    return tuple(sorted(tables, key=lambda table: table.key))


@cache
def logs() -> tuple[Log, ...]:
    """Everything that is only ever added to, the history of master data with it."""
    named = [log for module in _modules() for log in module.LOGS]
    return (*named, *(Log(model) for model in historical_models()))
