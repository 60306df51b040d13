"""Somebody who can write the database changes one thing in it: the proof finds it and names it.

The list is made from the tables themselves: every table that holds anything of the book, every
column of it, each with one update, and each with one row taken out. The book is built once, its
guards are taken off, and each change is undone before the next.
"""

from collections.abc import Callable, Iterator
from datetime import date, datetime, timedelta
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.conf import settings
from django.db import DatabaseError, connection, transaction
from django.db.models import BooleanField, DateField, DateTimeField, ForeignKey, JSONField, Model
from django.db.models.fields.files import FieldFile
from pytest_django.plugin import DjangoDbBlocker

from tests.audit.whole_book import whole_book
from workshop.audit.all_checks import CHECKS
from workshop.audit.master_data_proof import check_masters
from workshop.core.database import triggers
from workshop.core.database.sealing import historical_models, is_kept_in_history, logs, tables_of
from workshop.core.models import Upload
from workshop.costs.models import Rates
from workshop.counts.models import Classing
from workshop.ledger.models import OperationKind
from workshop.ledger.proof.checks import check_guards
from workshop.ledger.proof.seals import check_seals
from workshop.organic.models import Pack
from workshop.planning.models import AcceptedWeek, Hours

pytestmark = pytest.mark.django_db
REFUSED = "The database itself refuses it"

# What the proof does not speak of, and why.
NOT_OF_THE_BOOK = {
    "admin", "auth", "contenttypes", "sessions", "axes",  # the framework's own
}  # fmt: skip
NO_FACTS = {
    "ledger_counter",  # the next running number: a wrong one is refused as taken, or leaves a gap
    "ledger_covered",  # recomputed from the seals
    "core_sentform",  # that a form came before; what it did is in the record of its act
}
NO_MEANING = {
    ("core_user", "password"),  # kept out of every history, and so out of every seal
    ("core_user", "last_login"),
    ("kettle_timer", "ended_at"),  # a timer may end after its batch was closed
}

# The likeliest first: once one of them names the record, the others are not asked.
PROOF = (check_masters, check_seals, *(set(CHECKS) - {check_guards, check_masters, check_seals}))


def tables() -> list[type[Model]]:
    return [
        model
        for model in apps.get_models(include_auto_created=True)
        if model._meta.app_label not in NOT_OF_THE_BOOK
        and model._meta.db_table not in NO_FACTS
        and "user_" not in model._meta.db_table
    ]


def columns() -> list[tuple[type[Model], str]]:
    """Every column that means something; of a line of history, what it says and when."""
    history = set(historical_models())
    return [
        (model, field.attname)
        for model in tables()
        for field in model._meta.concrete_fields
        if not field.primary_key
        and (model._meta.db_table, field.attname) not in NO_MEANING
        and (model not in history or field.attname == "history_date")
    ]


def changed_here() -> list[tuple[type[Model], str]]:
    """Each column on SQLite; elsewhere, where it takes several times as long, those by which the
    databases may differ: of each table its first, and each kind of column.
    """
    if connection.vendor == "sqlite":
        return columns()
    chosen: dict[object, tuple[type[Model], str]] = {}
    for model, name in columns():
        chosen.setdefault(model, (model, name))
        chosen.setdefault(type(model._meta.get_field(name)), (model, name))
    return [*dict.fromkeys(chosen.values())]


def findings() -> list[str]:
    return [problem for check in PROOF for problem in check().problems]


@pytest.fixture(scope="module")
def book(
    django_db_setup: None,
    django_db_blocker: DjangoDbBlocker,
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[None]:
    """The book, its guards taken off; all of it is undone at the end."""
    former, settings.MEDIA_ROOT = settings.MEDIA_ROOT, str(tmp_path_factory.mktemp("uploads"))
    with django_db_blocker.unblock(), transaction.atomic():
        whole_book()
        assert check_guards().is_sound
        assert findings() == []
        triggers.remove(connection)
        yield
        transaction.set_rollback(True)
    settings.MEDIA_ROOT = former


def tampered(act: Callable[[], Any], words: set[str], *, first: int = 0) -> list[str]:
    """What the proof says once this was done, which is then undone, until a sentence names it."""
    found: list[str] = []
    try:
        with transaction.atomic():
            act()
            for check in PROOF[first:] + PROOF[:first]:
                found += check().problems
                if is_named(found, words):
                    break
            transaction.set_rollback(True)
    except DatabaseError as refused:
        return [f"{REFUSED}: {refused}"]
    return found


def is_named(sentences: list[str], words: set[str]) -> bool:
    return any(word in sentence for sentence in sentences for word in words)


def likeliest(model: type[Model]) -> int:
    return 0 if is_kept_in_history(model) else 1


def row_of(model: type[Model]) -> Any:
    """A row of the table as the book uses it: the last that is not a draft of anything."""
    rows = model._base_manager.order_by("pk")
    assert rows.exists(), f"The book has nothing in {model._meta.db_table}"
    return rows.first()


def others(row: Any, name: str) -> Iterator[Any]:
    """Other values for one column, the likeliest first."""
    field, value = row._meta.get_field(name), getattr(row, name)
    if isinstance(field, ForeignKey):
        target = field.related_model._base_manager.exclude(pk=value)  # type: ignore[union-attr]
        yield from target.order_by("-pk").values_list("pk", flat=True)[:3]
        yield None if value is not None else 987_654
    elif field.choices:
        yield from (key for key, _ in field.flatchoices if key != value)
    elif isinstance(field, BooleanField):
        yield not value
    elif isinstance(field, JSONField):
        yield ["changed"]
    elif isinstance(field, DateTimeField):
        yield (value or datetime.now().astimezone()) + timedelta(seconds=1)
    elif isinstance(field, DateField):
        yield (value or date.today()) + timedelta(days=1)  # noqa: DTZ011 -- any day does
        yield (value or date.today()) - timedelta(days=1)  # noqa: DTZ011
    elif isinstance(value, str | FieldFile) or field.get_internal_type() in (
        "CharField",
        "TextField",
    ):
        yield f"{value}x"[-field.max_length :] if field.max_length else f"{value}x"
        yield "x"
    else:
        yield from ((value or 0) + 1, (value or 0) - 1)


def updated(row: Any, name: str) -> list[str]:
    found = [f"{REFUSED}: there is no other value."]
    rows = type(row)._base_manager.filter(pk=row.pk)
    for value in others(row, name):
        change = partial(rows.update, **{name: value})
        found = tampered(change, named(row), first=likeliest(type(row)))
        if not found or not found[0].startswith(REFUSED):
            break
    return found


def named(row: Any) -> set[str]:
    """By what a person would look for the row: its reference, code or name, or its owner's."""
    words = {str(row)}
    for name in (
        "reference",
        "code",
        "username",
        "name",
        "inci_name",
        "number",
        "english",
        "year",
    ):
        words.add(str(getattr(row, name, "")))
    # Nobody's, and without a name but its number.
    if isinstance(row, Classing | Rates | Pack | Hours | AcceptedWeek):
        words.add(f"{row._meta.verbose_name} number {row.pk}")
    for field in row._meta.concrete_fields:
        if isinstance(field, ForeignKey) and getattr(row, field.attname) is not None:
            owner = getattr(row, field.name)
            words |= {str(owner), str(getattr(owner, "number", ""))}
    return words - {""}


@pytest.mark.parametrize(
    ("model", "name"),
    changed_here(),
    ids=lambda value: value if isinstance(value, str) else value._meta.db_table,
)
def test_one_changed_value_is_found_and_its_record_named(
    book: None, model: type[Model], name: str
) -> None:
    row = row_of(model)

    found = updated(row, name)

    assert found, "the proof says nothing"
    assert found[0].startswith(REFUSED) or is_named(found, named(row)), found


@pytest.mark.parametrize("model", tables(), ids=lambda model: model._meta.db_table)
def test_one_row_taken_out_is_found(book: None, model: type[Model]) -> None:
    row = row_of(model)
    words = named(row)

    found = tampered(
        lambda: model._base_manager.filter(pk=row.pk)._raw_delete(connection.alias),
        words,
        first=likeliest(model),
    )

    assert found, "the proof says nothing"
    assert found[0].startswith(REFUSED) or is_named(found, words), found


def test_list_is_long() -> None:
    assert len(columns()) > 300
    assert len(changed_here()) > 80


def test_every_table_of_the_book_is_sealed_or_kept_in_history() -> None:
    """A table that a room adds belongs to a record or a log, has a history, or holds no facts."""
    sealed = {table.model for kind in OperationKind.values for table in tables_of(kind)}
    logged = {log.model for log in logs()}
    kept = {model for model in apps.get_models() if is_kept_in_history(model)}
    many = {
        field.remote_field.through
        for model in kept
        for field in getattr(model.history.model, "_history_m2m_fields", [])  # type: ignore[attr-defined]
    }
    seals = {apps.get_model("ledger.Seal")}

    assert set(tables()) - sealed - logged - kept - many - seals == set()


@pytest.mark.parametrize("change", ["missing", "longer", "other"])
def test_file_that_was_changed_on_the_disk_is_named(book: None, change: str) -> None:
    upload = Upload.objects.first()
    assert upload is not None
    path = Path(upload.file.path)
    was = path.read_bytes()
    if change == "missing":
        path.unlink()
    else:
        path.write_bytes(was + b"x" if change == "longer" else was[:-1] + b"x")

    found = findings()

    path.write_bytes(was)
    assert len(found) == 1
    assert upload.name in found[0]
