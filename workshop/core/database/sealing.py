"""What a seal covers: each room says in its `sealed_tables.py` which of its tables belong to what.

`RECORDS` names, by the kind of operation, the tables whose rows are part of its record. `LOGS`
names tables that are only ever added to and belong to no closed record: each seal covers what was
written into them since the seal before. The history of master data is covered so without being
named. What is sealed and what is proved come from these lists alone.
"""

import json
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache, cached_property
from itertools import chain, pairwise
from typing import Any, NamedTuple

from django.apps import apps
from django.db import connection
from django.db.models import F, Model, Q, QuerySet
from django.db.models.expressions import Combinable

from workshop.core.database.room_modules import said_by_rooms
from workshop.core.database.row_text import columns_of, row_text

Texts = dict[int, str]
WIDE = 200
# SQLite takes the rows in the order that the question within puts them in.
JOINED = {
    "sqlite": "group_concat(row_text, ',')",
    "postgresql": "string_agg(row_text, ',' ORDER BY row_key)",
}
# What stands in a question for the first and the last key that it is asked of: keys of no row.
FIRST_KEY, LAST_KEY = 2**31 - 2, 2**31 - 1


class Question(NamedTuple):
    """A question put together once, to be asked of any keys, from FIRST_KEY to LAST_KEY.

    Putting it together takes the framework longer than the answer takes the database. It is asked
    past the framework's own loop over rows, which takes longer still.
    """

    sql: str
    params: tuple[Any, ...]

    def rows(self, first: int = FIRST_KEY, last: int = LAST_KEY) -> list[tuple[Any, ...]]:
        ends = {FIRST_KEY: first, LAST_KEY: last}
        with connection.cursor() as cursor:
            cursor.execute(self.sql, [ends.get(each, each) for each in self.params])
            found: list[tuple[Any, ...]] = cursor.fetchall()
        return found

    def joined(self) -> "Question":
        """The texts of each operation in the order of their keys, with commas between them."""
        together = JOINED[connection.vendor]
        sql = f"SELECT its_key, {together} FROM ({self.sql}) AS one GROUP BY its_key"  # noqa: S608 -- our own question
        return self._replace(sql=sql)


def question(rows: QuerySet[Any, Any]) -> Question:
    return Question(*rows.query.sql_with_params())


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

    def texts(self, *ends: tuple[int, int]) -> Texts:
        """The rows of each operation from one key to another, and so on, as one text."""
        asked = _question(self, connection.vendor)
        return dict(chain.from_iterable(asked.rows(first, last) for first, last in ends))

    def between(self) -> Question:
        operation = F(self.operation)  # by its key, not by the order that operations have
        within = {f"{self.operation}__gte": FIRST_KEY, f"{self.operation}__lte": LAST_KEY}
        rows = self.model._base_manager.filter(**within).order_by(operation, "pk")
        text = row_text(self.model, self.columns, **self.instead)
        if self.operation == "pk":
            return question(rows.values_list(operation, text))
        named = rows.annotate(its_key=operation, row_key=F("pk"), row_text=text)
        return question(named.values_list("its_key", "row_key", "row_text")).joined()


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
        return dict(question(self._told(Q(pk__in=numbers))).rows()) if numbers else {}

    def between(self) -> Question:
        return question(self._told(Q(pk__gte=FIRST_KEY, pk__lte=LAST_KEY)))

    def _told(self, which: Q) -> QuerySet[Any, Any]:
        return self.rows.filter(which).values_list("pk", row_text(self.model, self.columns))


@cache
def _question(section: Table | Log, vendor: str) -> Question:
    """The rows of a section between two keys; each kind of database has its own words for it."""
    return section.between()


def holding_rows(models: Iterable[type[Model]]) -> set[type[Model]]:
    """Those of these tables that hold any row at all: one question, for there are many."""
    each, quote = list(models), connection.ops.quote_name
    if not each:
        return set()
    asked = (f"EXISTS (SELECT 1 FROM {quote(model._meta.db_table)})" for model in each)  # noqa: S608 -- our own tables
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {', '.join(asked)}")
        return {model for model, holds in zip(each, cursor.fetchone(), strict=True) if holds}


def stretches(numbers: Collection[int]) -> Iterator[tuple[int, int]]:
    """From where to where numbers lie, in stretches without a wide gap.

    A thousand keys in a list take the framework longer than the database.
    """
    ordered = sorted(numbers)
    gaps = [at for at, (last, first) in enumerate(pairwise(ordered), 1) if first - last > WIDE]
    for begin, end in pairwise([0, *gaps, len(ordered)]):
        if begin < end:
            yield ordered[begin], ordered[end - 1]


def historical_models() -> list[type[Model]]:
    """The tables of history of all master data, those of their many-to-many fields with them."""
    found: list[type[Model]] = []
    for model in filter(is_kept_in_history, apps.get_models()):
        found += [history_of(model), *history_of_many(model).values()]
    return found


def is_kept_in_history(model: type[Model]) -> bool:
    return hasattr(model._meta, "simple_history_manager_attribute")


@cache
def history_of(model: type[Model]) -> Any:
    """The table that keeps the history of a table of master data."""
    return getattr(model, model._meta.simple_history_manager_attribute).model  # type: ignore[attr-defined]


@cache
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


@cache
def tables_of(kind: str) -> tuple[Table, ...]:
    """The tables whose rows are part of the record of an operation of this kind."""
    records = said_by_rooms("sealed_tables", "RECORDS")
    tables = [table for record in records for table in record.get(kind, ())]
    return tuple(sorted(tables, key=lambda table: table.key))


@cache
def logs() -> tuple[Log, ...]:
    """Everything that is only ever added to, the history of master data with it."""
    named = [log for room in said_by_rooms("sealed_tables", "LOGS") for log in room]
    return (*named, *(Log(model) for model in historical_models()))


@cache
def logs_by_key() -> Mapping[str, Log]:
    return {log.key: log for log in logs()}
