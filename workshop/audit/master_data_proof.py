"""Master data is held against its own history: each row is as its last line of history says."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from itertools import chain
from typing import Any

from django.apps import apps
from django.db.models import Max, Model, QuerySet

from workshop.core.database.row_text import columns_of, row_text
from workshop.core.database.sealing import (
    history_of,
    history_of_many,
    holding_rows,
    is_kept_in_history,
)
from workshop.ledger.proof.differences import called, of_texts
from workshop.ledger.proof.findings import Finding

REMOVED = "-"


def check_masters() -> Finding:
    """Every row is as its history left it; what history never saw, or still has, is told."""
    finding = Finding("people, materials, formulas and customers are as their history says")
    models = list(filter(is_kept_in_history, apps.get_models()))
    filled = holding_rows(chain.from_iterable(map(_tables_of, models)))
    for model in models:
        if filled.isdisjoint(_tables_of(model)):
            continue
        now = _texts(model._base_manager.all(), _columns(model))
        finding.looked_at += len(now)
        for sentence in _differences(model, now):
            finding.add(sentence)
        for many, table in history_of_many(model).items():
            for sentence in _differing_many(model, many, table):
                finding.add(sentence)
    return finding


def _tables_of(model: type[Model]) -> Iterator[type[Model]]:
    """A table, the rows that its many-to-many fields are, and the history of both."""
    yield from (model, history_of(model))
    for many, table in history_of_many(model).items():
        yield from (many.remote_field.through, table)


def _columns(model: type[Model]) -> list[str]:
    kept = {field.attname for field in history_of(model)._meta.concrete_fields}
    return [name for name in columns_of(model) if name in kept]


def _differences(model: type[Model], now: Mapping[int, str]) -> Iterator[str]:
    columns = _columns(model)
    said = _texts(_last_lines(model), columns)
    if said == now:
        return
    for key in sorted(said.keys() | now.keys()):
        if said.get(key) != now.get(key):
            row, sentence = of_texts(columns, said.get(key), now.get(key))
            if sentence:
                yield f"{called(model, row)} {sentence}"


def _last_lines(model: type[Model]) -> QuerySet[Any]:
    """The last line of history of every row that was not removed since."""
    lines = history_of(model)._base_manager
    pk = model._meta.pk.attname
    last = lines.order_by().values(pk).annotate(last=Max("history_id")).values("last")
    rows: QuerySet[Any] = lines.filter(history_id__in=last).exclude(history_type=REMOVED)
    return rows


def _texts(rows: QuerySet[Any], columns: list[str]) -> dict[int, str]:
    return dict(rows.order_by().values_list(columns[0], row_text(rows.model, columns)))


def _differing_many(model: type[Model], many: Any, table: type[Model]) -> Iterator[str]:
    """The rows of a many-to-many field, against those that its last line of history had."""
    mine, other = many.m2m_field_name(), many.m2m_reverse_field_name()
    lines = dict(_last_lines(model).values_list("history_id", model._meta.pk.attname))
    said, now = defaultdict(set), defaultdict(set)
    for line, pk in table._base_manager.values_list("history_id", f"{other}_id"):
        if line in lines:
            said[lines[line]].add(pk)
    for row, pk in many.remote_field.through._base_manager.values_list(f"{mine}_id", f"{other}_id"):
        now[row].add(pk)
    for key in sorted(said.keys() | now.keys()):
        if said[key] != now[key]:
            row = model._base_manager.filter(pk=key).values().first() or {"id": key}
            yield f"{called(model, row)} is no longer as sealed: {many.name}."
