"""The planner's hint that SQLite has and PostgreSQL lacks, so that one text serves both."""

from typing import Any

from django.db import migrations

LIKELIHOOD = (
    "CREATE OR REPLACE FUNCTION likelihood(boolean, numeric) RETURNS boolean"
    " LANGUAGE sql IMMUTABLE PARALLEL SAFE AS 'SELECT $1'"
)


def add_likelihood(_: Any, editor: Any) -> None:
    if editor.connection.vendor == "postgresql":
        editor.execute(LIKELIHOOD)


class Migration(migrations.Migration):
    dependencies = [("ledger", "0001_initial")]
    operations = [migrations.RunPython(add_likelihood, migrations.RunPython.noop)]
