"""A form knows what it was opened on: what others changed since is told before it is undone."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django import forms
from django.db import transaction
from django.db.models import Field, Model, QuerySet

from workshop.core import formatting
from workshop.core.errors import ActionRefused
from workshop.core.saving.locks import advisory_lock

NOTHING = "–"
MOST_TOLD = 8
YOURS = "What you typed is still here: save again to put it in the place of that."
Records = QuerySet[Any]


@dataclass(frozen=True)
class ChangeMeanwhile:
    """A field that is no longer what the page showed."""

    name: str
    label: str
    was: str
    now: str
    by: str
    at: datetime

    def __str__(self) -> str:
        when = formatting.moment(self.at)
        return f"{self.label} was {self.was}, is now {self.now} ({self.by}, {when})"


class Watching(forms.BaseForm):
    """A form that knows the newest records of what it shows, in a hidden field."""

    watched: Sequence[Records] = ()
    seen = ""

    def watch(self, *records: Records) -> None:
        """`records` are the histories of the rows that the form changes."""
        self.watched = records
        self.fields["seen"] = forms.CharField(
            widget=forms.HiddenInput, required=False, max_length=100, initial=mark_of(records)
        )
        helper: Any = getattr(self, "helper", None)
        if helper is not None:
            helper.render_hidden_fields = True

    def full_clean(self) -> None:
        super().full_clean()
        values: dict[str, Any] = getattr(self, "cleaned_data", {})
        self.seen = values.pop("seen", "")


def mark_of(records: Sequence[Records]) -> str:
    """The key of the newest record of each."""
    newest = (one.order_by("-history_id").values_list("history_id", flat=True) for one in records)
    return ".".join(str(one.first() or 0) for one in newest)


@contextmanager
def up_to_date(form: Watching, told: Callable[[], list[str]] = list) -> Iterator[None]:
    """Save within this: raises ActionRefused if somebody else saved since the form was opened.

    Nothing is raised where the form says the same as the book does now. `told` are sentences
    about what has no history of its own, asked for only when somebody saved.
    """
    with transaction.atomic():
        if form.watched:
            advisory_lock(f"saving {form.watched[0].model._meta.label}")
            _refuse_stale(form, told)
        yield


def _refuse_stale(form: Watching, told: Callable[[], list[str]]) -> None:
    now = mark_of(form.watched)
    if not form.seen or form.seen == now:
        return
    changes = [
        change
        for change in changes_since(form.watched, form.seen)
        if _typed(form, change) != change.now
    ]
    sentences = [*map(str, changes), *told()]
    if sentences:
        more = f"; and {len(sentences) - MOST_TOLD} more" if len(sentences) > MOST_TOLD else ""
        raise ActionRefused(
            "This was changed since you opened the page: "
            f"{'; '.join(sentences[:MOST_TOLD])}{more}. {YOURS}",
            renewed={"seen": now},
            beside={
                change.name: f"{change.by} changed this to {change.now}." for change in changes
            },
        )


def changes_since(records: Sequence[Records], seen: str) -> list[ChangeMeanwhile]:
    """Every field that differs from what it was when the records were marked as `seen`."""
    marks = [int(mark) if mark.isdecimal() and len(mark) < 18 else 0 for mark in seen.split(".")]
    return [
        change
        for rows, mark in zip(records, marks, strict=False)
        for change in _changes_of(rows, mark)
    ]


def _changes_of(rows: Records, mark: int) -> Iterator[ChangeMeanwhile]:
    by_row: dict[Any, list[Any]] = {}
    newer = rows.filter(history_id__gt=mark).select_related("history_user")
    for record in newer.order_by("history_id"):
        by_row.setdefault(record.instance.pk, []).append(record)
    for pk, group in by_row.items():
        own = rows.filter(**{rows.model.instance_type._meta.pk.name: pk})
        before = own.filter(history_id__lte=mark).order_by("-history_id").first()
        if before is None or group[-1].history_type == "-":
            yield _come_or_gone(before, group[-1])
        else:
            yield from _differing(before, group)


def _come_or_gone(before: Any, record: Any) -> ChangeMeanwhile:
    what = str(record.instance._meta.verbose_name)
    name = str(record.instance)
    was, now = (NOTHING, name) if before is None else (name, NOTHING)
    return ChangeMeanwhile("", what, was, now, _person(record), record.history_date)


def _differing(before: Any, group: Sequence[Any]) -> Iterator[ChangeMeanwhile]:
    fields = [*group[-1].tracked_fields, *getattr(group[-1], "_history_m2m_fields", [])]
    for field in fields:
        told = [said(field, record) for record in (before, *group)]
        if told[0] != told[-1]:
            last = max(n for n in range(1, len(told)) if told[n] != told[n - 1])
            record = group[last - 1]
            label = str(field.verbose_name).capitalize()
            yield ChangeMeanwhile(
                field.name, label, told[0], told[-1], _person(record), record.history_date
            )


def _person(record: Any) -> str:
    return str(record.history_user or "somebody")


def said(field: Any, record: Any) -> str:
    """What a record holds in a field, as a person reads it."""
    if field.many_to_many:
        rows = getattr(record, field.name).all()
        column = field.m2m_reverse_field_name()
        return ", ".join(sorted(str(getattr(row, column)) for row in rows)) or NOTHING
    return _in_words(field, getattr(record, field.attname))


def _in_words(field: Field[Any, Any], value: Any) -> str:
    if value is None or value == "":
        return NOTHING
    if isinstance(value, Model):
        return str(value)
    if field.is_relation and field.related_model:
        target: Any = field.related_model
        return str(target._default_manager.filter(pk=value).first() or f"number {value}")
    if field.choices:
        return str(dict(field.flatchoices).get(value, value))
    return formatting.in_words(value)


def _typed(form: Watching, change: ChangeMeanwhile) -> str | None:
    """What the form would make of the field, in the words of the change; None if it has none."""
    values: dict[str, Any] = getattr(form, "cleaned_data", {})
    if change.name not in values:
        return None
    for rows in form.watched:
        model = rows.model.instance_type
        names = {field.name: field for field in model._meta.get_fields()}
        field: Any = names.get(change.name)
        if field is not None:
            return _typed_words(field, values[change.name])
    return None


def _typed_words(field: Any, value: Any) -> str:
    if field.many_to_many:
        return ", ".join(sorted(map(str, value or ()))) or NOTHING
    return _in_words(field, value)
