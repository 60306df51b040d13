"""The tables of the book as files: which there are, and each value as text and back."""

import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from functools import cached_property
from typing import Any

from django.apps import apps
from django.db import models
from django.db.models import Model

from workshop.core.fields import FixedPointField
from workshop.rules.transfer.safe_cells import original, safe

OURS = "workshop."
YES_NO = {"true": True, "false": False}


class Unreadable(ValueError):  # noqa: N818 -- reads as a word where it is raised
    """A cell is not what its column holds; the text is a sentence."""


def models_kept() -> list[type[Model]]:
    """Every table of our rooms, those of links and of history with them, by name.

    What is left out belongs to the framework: sessions, wrong passwords, and rights that nobody
    has here, since a role says what a person may do.
    """
    ours = {config.label for config in apps.get_app_configs() if config.name.startswith(OURS)}
    found = [
        model
        for model in apps.get_models(include_auto_created=True)
        if model._meta.app_label in ours and model._meta.managed and not _links_away(model, ours)
    ]
    return sorted(found, key=lambda model: model._meta.db_table)


def _links_away(model: type[Model], ours: set[str]) -> bool:
    pointed_at = [field.related_model for field in model._meta.fields if field.is_relation]
    return bool(model._meta.auto_created) and any(
        other._meta.app_label not in ours  # type: ignore[union-attr]  # no table of a string
        for other in pointed_at
    )


def _moment(value: datetime) -> str:
    return f"{value.astimezone(UTC):%Y-%m-%dT%H:%M:%S.%fZ}"


def _structure(value: Any) -> str:
    """Keys in the order that PostgreSQL keeps them in, so that both databases say the same."""
    return json.dumps(_ordered(value), ensure_ascii=False)


def _ordered(value: Any) -> Any:
    if isinstance(value, dict):
        keys = sorted(value, key=lambda key: (len(key.encode()), key.encode()))
        return {key: _ordered(value[key]) for key in keys}
    return [_ordered(one) for one in value] if isinstance(value, list) else value


@dataclass(frozen=True)
class CellKind:
    """One kind of column: its type in a Table Schema, and its values as text and back."""

    type: str
    write: Callable[[Any], str]
    read: Callable[[str], Any]


TEXT = CellKind("string", safe, original)
WHOLE = CellKind("integer", str, int)
KINDS: tuple[tuple[type[Any], CellKind], ...] = (
    (models.BooleanField, CellKind("boolean", lambda yes: str(yes).lower(), YES_NO.__getitem__)),
    (models.JSONField, CellKind("any", lambda it: safe(_structure(it)), json.loads)),
    (models.DateTimeField, CellKind("datetime", _moment, datetime.fromisoformat)),
    (models.DateField, CellKind("date", date.isoformat, date.fromisoformat)),
    (FixedPointField, CellKind("number", str, Decimal)),
    (models.IntegerField, WHOLE),
    (models.AutoField, WHOLE),
    (models.CharField, TEXT),
    (models.TextField, TEXT),
    (models.FileField, CellKind("string", lambda file: safe(str(file)), original)),
)


@dataclass(frozen=True)
class Column:
    """A column of a table: its name in the database, and how its values are written."""

    field: Any

    @property
    def name(self) -> str:
        return str(self.field.attname)

    @cached_property
    def kind(self) -> CellKind:
        bare = self.field.target_field if self.field.is_relation else self.field
        return next(kind for of, kind in KINDS if isinstance(bare, of))

    def cell(self, value: Any) -> str:
        """The value as text. Nothing is an empty cell, empty text beside it a lone apostrophe."""
        if value is None:
            return ""
        text = self.kind.write(value)
        return text or ("'" if self.field.null else "")

    def value(self, cell: str) -> Any:
        """Raises Unreadable where the cell holds no such value."""
        if cell == "" and (self.field.null or self.kind.type == "string"):
            return None if self.field.null else ""
        try:
            return self.kind.read(cell)
        except (ValueError, ArithmeticError, KeyError) as error:
            raise Unreadable(f"column {self.name} holds “{cell[:40]}”.") from error

    def described(self) -> dict[str, Any]:
        """As Table Schema writes a field down."""
        bare = self.field
        told: dict[str, Any] = {"name": self.name, "type": self.kind.type}
        if self.kind.type == "datetime":
            told["format"] = "default"
        if bare.help_text:
            told["description"] = str(bare.help_text)
        limits: dict[str, Any] = {"required": True} if self._is_required else {}
        if bare.choices:
            limits["enum"] = [value for value, _ in bare.flatchoices]
        if bare.unique:
            limits["unique"] = True
        return told | ({"constraints": limits} if limits else {})

    @property
    def _is_required(self) -> bool:
        return not self.field.null and self.kind.type != "string"


@dataclass(frozen=True)
class BookTable:
    """A table of the book as a CSV file."""

    model: type[Model]

    @property
    def name(self) -> str:
        return str(self.model._meta.db_table)

    @property
    def path(self) -> str:
        return f"tables/{self.name}.csv"

    @cached_property
    def columns(self) -> list[Column]:
        """The key first, then in the order of the model."""
        fields = sorted(self.model._meta.concrete_fields, key=lambda field: not field.primary_key)
        return [Column(field) for field in fields]

    def described(self) -> dict[str, Any]:
        """Its Table Schema (Frictionless Data, version 2)."""
        return {
            "fields": [column.described() for column in self.columns],
            "primaryKey": self.columns[0].name,
            "missingValues": [""],
            "foreignKeys": [
                {
                    "fields": column.name,
                    "reference": {
                        "resource": column.field.related_model._meta.db_table,
                        "fields": column.field.target_field.attname,
                    },
                }
                for column in self.columns
                if column.field.is_relation and column.field.db_constraint
            ],
        }


def book_tables() -> list[BookTable]:
    return [BookTable(model) for model in models_kept()]
