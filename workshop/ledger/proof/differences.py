"""Where rows differ from what was sealed of them: named as a person would look for them."""

import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from django.core.exceptions import ObjectDoesNotExist
from django.db.models import ForeignKey, Model

from workshop.core.database.sealing import Table
from workshop.core.models import User

NAMES = (
    "reference", "code", "username", "name", "inci_name", "file_name", "heading", "english", "year",
)  # fmt: skip
Row = Mapping[str, Any]


def told(table: Table, sealed: Mapping[str, Any], now: Sequence[Sequence[Any]]) -> Iterator[str]:
    """A sentence for each row of a record that changed, is gone, or came later."""
    before = _by_key(sealed["columns"], sealed["rows"])
    today = _by_key(table.columns, now)
    for key in sorted(before.keys() | today.keys()):
        sentence = difference(before.get(key), today.get(key))
        if sentence:
            yield f"{called(table.model, before.get(key) or today[key])} {sentence}"


def _by_key(columns: Sequence[str], rows: Sequence[Sequence[Any]]) -> dict[Any, Row]:
    return {row[0]: dict(zip(columns, row, strict=True)) for row in rows}


def difference(before: Row | None, today: Row | None) -> str:
    """What became of one row, in words; nothing when it is as sealed.

    A column that came with a later release was not sealed, and is not held against the row.
    """
    if today is None:
        return "is gone."
    if before is None:
        return "was added behind the book."
    columns = [name for name, value in before.items() if name not in today or today[name] != value]
    names = ", ".join(name.removesuffix("_id").replace("_", " ") for name in columns)
    return f"is no longer as sealed: {names}." if names else ""


def of_texts(columns: Sequence[str], before: str | None, today: str | None) -> tuple[Row, str]:
    """The row that two texts are of, and what became of it."""
    rows = [
        dict(zip(columns, json.loads(text), strict=True)) if text else None
        for text in (before, today)
    ]
    return rows[0] or rows[1] or {}, difference(*rows)


def word(model: type[Model]) -> str:
    return str(model._meta.verbose_name)


def called(model: type[Model], row: Row) -> str:
    """A row by what it is and by what a person knows it."""
    return f"{word(model)} {_named(model, row)}"


def _named(model: type[Model], row: Row) -> str:
    """By what a person knows the row: its own name, or what it belongs to."""
    own = next((str(row[name]) for name in NAMES if row.get(name)), "")
    if own:
        return own
    numbers = [f"{row[name]}" for name in ("number", "order", "place") if row.get(name)]
    return " ".join([*_belongs_to(model, row), *numbers]) or f"number {next(iter(row.values()))}"


def _belongs_to(model: type[Model], row: Row) -> Iterator[str]:
    for field in model._meta.concrete_fields:
        pk = row.get(field.attname)
        if pk is None or not isinstance(field, ForeignKey) or field.related_model is User:
            continue
        other: type[Model] = field.related_model  # type: ignore[assignment]
        yield f"of {_said(other, pk)}"
        return


def _said(model: type[Model], pk: Any) -> str:
    """What a row calls itself, as far as what it names itself by is still there."""
    try:
        return str(model._base_manager.get(pk=pk))
    except ObjectDoesNotExist:
        return f"{word(model)} {pk}"
