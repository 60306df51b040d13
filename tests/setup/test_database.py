"""The suite runs on the database it says it runs on."""

import os
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection


@pytest.mark.django_db
def test_suite_runs_on_the_database_of_its_leg() -> None:
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")

    assert connection.vendor == os.environ["TAREBOOK_EXPECT_VENDOR"]


@pytest.mark.django_db
def test_sqlite_writers_queue_instead_of_failing() -> None:
    if connection.vendor != "sqlite":
        pytest.skip("speaks of SQLite")
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA journal_mode")
        journal = cursor.fetchone()
        cursor.execute("PRAGMA busy_timeout")
        wait = cursor.fetchone()
        cursor.execute("PRAGMA foreign_keys")
        keys = cursor.fetchone()

    assert (journal, wait, keys) == (("wal",), (20_000,), (1,))
    assert connection.transaction_mode == "IMMEDIATE"  # type: ignore[attr-defined]


def test_suite_keeps_its_data_out_of_the_project() -> None:
    assert settings.BASE_DIR not in Path(settings.DATA_DIR).parents
