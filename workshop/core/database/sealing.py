"""What a seal covers: each room says in its `sealed_tables.py` which of its tables belong to what.

`RECORDS` names, by the kind of operation, the tables whose rows are part of its record. `LOGS`
names tables that are only ever added to and belong to no closed record: each seal covers what was
written into them since the seal before. The history of master data is covered so without being
named. What is sealed and what is proved come from these lists alone.
"""

import json
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache, cached_property
from importlib import import_module
from types import ModuleType
from typing import Any, NamedTuple

from django.apps import apps
from django.db import connection
from django.db.models import F, Model, Q, QuerySet
from django.db.models.expressions import Combinable
from django.utils.module_loading import module_has_submodule

from workshop.core.database.row_text import columns_of, row_text

Texts = dict[int, list[str]]
Asked = tuple[str, tuple[Any, ...]]
DENSE = 4
# What stands in a question for the first and the last key that it is asked of: keys of no row.
FIRST, LAST = -1, -2


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
        first, last = min(operations), max(operations)
        if is_dense(operations):
            rows = _question(self, connection.vendor).rows(first, last)
        else:
            rows = _fetched(*self._asked(Q(**{f"{self.operation}__in": list(operations)})))
        found: Texts = defaultdict(list)
        for operation, row in rows:
            found[operation].append(row)
        return found

    def between(self) -> Asked:
        within = {f"{self.operation}__gte": FIRST, f"{self.operation}__lte": LAST}
        return self._asked(Q(**within))

    def _asked(self, which: Q) -> Asked:
        text = row_text(self.model, self.columns, **self.instead)
        rows = self.model._base_manager.filter(which).order_by("pk")
        return rows.values_list(F(self.operation), text).query.sql_with_params()


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

    def texts(self, first: int, last: int) -> dict[int, str]:
        """The final rows from one key to another as text, by key."""
        return dict(_question(self, connection.vendor).rows(first, last))

    def texts_of(self, numbers: Collection[int]) -> dict[int, str]:
        """The final rows among these keys as text, by key."""
        return dict(_fetched(*self._asked(Q(pk__in=numbers)))) if numbers else {}

    def between(self) -> Asked:
        return self._asked(Q(pk__gte=FIRST, pk__lte=LAST))

    def _asked(self, which: Q) -> Asked:
        text = row_text(self.model, self.columns)
        return self.rows.filter(which).values_list("pk", text).query.sql_with_params()


class Question(NamedTuple):
    """A question put together once, to be asked of any keys.

    Putting it together takes the framework longer than the answer takes the database, and every
    seal asks some twenty of them.
    """

    sql: str
    params: tuple[Any, ...]

    def rows(self, first: int, last: int) -> list[tuple[int, str]]:
        ends = {FIRST: first, LAST: last}
        return _fetched(self.sql, [ends.get(each, each) for each in self.params])


@cache
def _question(section: Table | Log, vendor: str) -> Question:
    """The rows of a section between two keys; each kind of database has its own words for it."""
    return Question(*section.between())


def is_dense(numbers: Collection[int]) -> bool:
    """Whether keys lie so close that one asks for the first to the last and all between them.

    A thousand keys in a list take the framework longer than the database.
    """
    return max(numbers) - min(numbers) <= DENSE * len(numbers)


def among(path: str, numbers: Collection[int]) -> Q:
    """Rows whose `path` is one of these keys, and perhaps of others that lie between them."""
    if not is_dense(numbers):
        return Q(**{f"{path}__in": list(numbers)})
    return Q(**{f"{path}__gte": min(numbers), f"{path}__lte": max(numbers)})


def _fetched(sql: str, params: Sequence[Any]) -> list[tuple[int, str]]:
    # Past the framework's own loop over rows, which takes longer than the database does.
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
        if module_has_submodule(app.module, "sealed_tables"):
            module = import_module(f"{app.name}.sealed_tables")
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
