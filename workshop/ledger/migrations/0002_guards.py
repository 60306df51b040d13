"""Triggers that keep the ledger, and the planner's hint that PostgreSQL lacks."""

from typing import Any

from django.db import migrations

from workshop.core.triggers import create
from workshop.ledger.guards import GUARDS

LIKELIHOOD = (
    "CREATE OR REPLACE FUNCTION likelihood(boolean, numeric) RETURNS boolean"
    " LANGUAGE sql IMMUTABLE PARALLEL SAFE AS 'SELECT $1'"
)


def add_likelihood(_: Any, editor: Any) -> None:
    if editor.connection.vendor == "postgresql":
        editor.execute(LIKELIHOOD)


class Migration(migrations.Migration):
    dependencies = [("ledger", "0001_initial")]
    operations = [
        create(*GUARDS),
        migrations.RunPython(add_likelihood, migrations.RunPython.noop),
    ]
