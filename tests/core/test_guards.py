"""The guards of every room stand after any migration, and the proof holds the database to them."""

import re
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import IntegrityError, connection, transaction
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.recorder import MigrationRecorder
from django.db.models import Model

from tests import make
from workshop.core.database import triggers
from workshop.ledger.models import Lot, Posting
from workshop.ledger.proof.checks import check_guards

TABLES_ONLY_ADDED_TO = {
    "dispatch_deliveryconfirmation",
    "kettle_check",
    "kettle_weighing",
    "labels_print",
    "ledger_amendment",
    "ledger_posting",
    "ledger_seal",
    "ledger_statuschange",
    "packing_fillsample",
    "aftersales_complaintevent",
    "aftersales_recallentry",
}

# Their guards name, one by one, the columns that stay or change only so.
TABLES_BY_COLUMN = {"formulas_version", "labels_labelversion", "ledger_lot", "ledger_operation"}


def sql(*statements: str) -> None:
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)


@pytest.mark.django_db
def test_database_has_every_guard_of_every_room_and_no_other() -> None:
    guards = triggers.registry()

    assert triggers.existing(connection).keys() == {guard.name for guard in guards}
    assert {guard.table for guard in guards} >= TABLES_ONLY_ADDED_TO
    assert len({guard.name for guard in guards}) == len(guards)
    assert check_guards().is_sound


def test_guards_that_name_columns_name_every_one() -> None:
    models = {model._meta.db_table: model for model in apps.get_models()}
    named = {one.table for one in triggers.registry() if one.name.endswith("_stays_itself")}

    assert named == TABLES_BY_COLUMN
    assert {table: unnamed_columns(models[table]) for table in named} == {
        table: [] for table in named
    }


def unnamed_columns(model: type[Model]) -> list[str]:
    """The columns that no guard of a change looks at."""
    table = model._meta.db_table
    guards = [one for one in triggers.registry() if (one.table, one.event) == (table, "UPDATE")]
    looked_at = set(re.findall(r"NEW\.(\w+)", " ".join(one.condition for one in guards)))
    columns = [field.column for field in model._meta.concrete_fields if not field.primary_key]
    return [column for column in columns if column not in looked_at]


@pytest.mark.django_db
@pytest.mark.parametrize("guard", triggers.registry(), ids=lambda guard: guard.name)
def test_guard_taken_away_is_told_and_set_up_again(guard: triggers.Trigger) -> None:
    on = f" ON {guard.table}" if connection.vendor == "postgresql" else ""
    sql(f"DROP TRIGGER {guard.name}{on}")

    assert check_guards().problems == [f"The guard {guard.name} is missing: {guard.sentence}"]

    triggers.install(connection)
    assert check_guards().is_sound


@pytest.mark.django_db
def test_guard_that_lets_through_what_it_should_refuse_is_told() -> None:
    guard = next(one for one in triggers.registry() if one.name == "ledger_lot_no_delete")
    weak = triggers.Trigger(guard.name, guard.table, guard.event, "1 = 2", guard.sentence)
    on = f" ON {guard.table}" if connection.vendor == "postgresql" else ""
    sql(f"DROP TRIGGER {guard.name}{on}", *weak.statements(connection.vendor))

    assert check_guards().problems == [
        f"The guard {guard.name} is not as it should be: {guard.sentence}"
    ]


@pytest.mark.django_db
def test_trigger_of_a_stranger_is_told_and_removed() -> None:
    stranger = triggers.Trigger("quiet", "ledger_posting", "INSERT", "NEW.quantity = 7", "no")
    sql(*stranger.statements(connection.vendor))

    assert check_guards().problems == ["The database has a trigger that is not ours: quiet."]

    triggers.install(connection)
    assert check_guards().is_sound


@pytest.mark.django_db
def test_guard_that_is_switched_off_is_told() -> None:
    if connection.vendor != "postgresql":
        pytest.skip("SQLite cannot switch a trigger off.")
    sql("ALTER TABLE ledger_posting DISABLE TRIGGER ledger_posting_no_delete")

    assert len(check_guards().problems) == 1


LATER = """
from django.db import migrations, models

class Migration(migrations.Migration):
    dependencies = [("ledger", "{last}")]
    operations = [
        migrations.AddField("posting", "remark", models.CharField(max_length=9, default="none")),
        migrations.AddField("lot", "shelf", models.CharField(max_length=9, default="A")),
    ]
"""


@pytest.fixture
def later_release(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, settings: object
) -> Iterator[str]:
    """The ledger's migrations with one more, as a later release might bring it."""
    if not MigrationRecorder(connection).applied_migrations():
        pytest.skip("The tables of this run were made without migrations.")
    folder = Path(str(apps.get_app_config("ledger").path)) / "migrations"
    later = tmp_path / "later_ledger"
    later.mkdir()
    for file in folder.glob("*.py"):
        (later / file.name).write_text(file.read_text())
    last = max(file.stem for file in folder.glob("0*.py"))
    (later / "9999_remarks.py").write_text(LATER.format(last=last))
    monkeypatch.syspath_prepend(str(tmp_path))
    settings.MIGRATION_MODULES = {"ledger": "later_ledger"}  # type: ignore[attr-defined]
    yield last
    call_command("migrate", "ledger", last, verbosity=0)
    for name in [name for name in sys.modules if name.startswith("later_ledger")]:
        del sys.modules[name]


@pytest.mark.django_db(transaction=True)
def test_columns_added_to_guarded_tables_lose_no_guard(later_release: str) -> None:
    lot = make.lot()

    call_command("migrate", verbosity=0)

    assert not MigrationExecutor(connection).migration_plan([("ledger", "9999_remarks")])
    assert check_guards().is_sound
    with pytest.raises(IntegrityError, match="only ever added"), transaction.atomic():
        Posting.objects.update(reason="x")
    assert Lot.objects.get() == lot
