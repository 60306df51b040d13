"""When the machine fails, the page says what is wrong and what to do."""

import errno
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.db import DatabaseError, connection
from django.db.backends.sqlite3.base import DatabaseWrapper
from django.test import Client
from django.urls import reverse

from tests import make
from tests.core.test_sessions import reading_only
from workshop.core.models import Role
from workshop.core.web.error_pages import AWAY, DAMAGED, FULL, READ_ONLY, sentence_for

pytestmark = pytest.mark.django_db


def sqlite_at(path: Path) -> DatabaseWrapper:
    """A SQLite database beside the one of the tests."""
    values = {**DatabaseWrapper({}).settings_dict, **connection.settings_dict}
    values |= {"NAME": str(path), "OPTIONS": {}, "ENGINE": "django.db.backends.sqlite3"}
    return DatabaseWrapper(values, alias="beside")


def fault_of(book: DatabaseWrapper, *statements: str) -> BaseException:
    try:
        with book.cursor() as cursor:
            for statement in statements:
                cursor.execute(statement)
    except DatabaseError as error:
        return error
    finally:
        book.close()
    raise AssertionError("the database did what it could not")


def test_full_disk_is_told() -> None:
    """A limit of pages is to SQLite what a full disk is."""
    book = sqlite_at(Path(":memory:"))

    error = fault_of(
        book,
        "CREATE TABLE kept (word TEXT)",
        "PRAGMA max_page_count = 4",
        "INSERT INTO kept VALUES (hex(randomblob(100000)))",
    )

    assert sentence_for(error) == FULL
    assert sentence_for(OSError(errno.ENOSPC, "No space left on device")) == FULL


@pytest.mark.parametrize(
    "spoil",
    [
        lambda whole: b"this is no database at all" * 400,
        lambda whole: whole[:100] + bytes(len(whole) - 100),
    ],
    ids=["no database", "emptied behind its head"],
)
def test_damaged_file_is_told(tmp_path: Path, spoil: Callable[[bytes], bytes]) -> None:
    path = tmp_path / "book.sqlite3"
    book = sqlite_at(path)
    with book.cursor() as cursor:
        cursor.execute("CREATE TABLE kept (word TEXT)")
    book.close()
    path.write_bytes(spoil(path.read_bytes()))

    assert sentence_for(fault_of(sqlite_at(path), "SELECT * FROM kept")) == DAMAGED


def test_folder_that_is_gone_is_told(tmp_path: Path) -> None:
    error = fault_of(sqlite_at(tmp_path / "gone" / "book.sqlite3"), "SELECT 1")

    assert sentence_for(error) == AWAY


def test_database_that_only_reads_is_told() -> None:
    with reading_only(), pytest.raises(DatabaseError) as error:
        make.user()

    assert sentence_for(error.value) == READ_ONLY


def test_other_faults_are_not_the_machines() -> None:
    assert sentence_for(ValueError("ours")) == ""
    assert sentence_for(DatabaseError("ours")) == ""
    assert sentence_for(None) == ""


def test_form_sent_to_a_book_that_only_reads_says_so() -> None:
    person = make.user(Role.OWNER)
    client = Client(raise_request_exception=False)
    client.force_login(person)
    data = {"name": "Wren Hollow Works", "address": "4 Quay Lane", "market": "EU"}

    with reading_only():
        answer = client.post(reverse("core:workshop"), data)

    assert answer.status_code == 503
    assert READ_ONLY in answer.text


# ---- an address of nothing -----------------------------------------------------------------------


@pytest.mark.parametrize(
    "address", ["/no-such-page/", "/stock/NO-SUCH-LOT/", "/files/1/", "/goods-in/%FF/"]
)
def test_address_of_nothing_gets_a_page_of_ours(signed_in: Any, address: str) -> None:
    answer = signed_in(Role.MAKER).get(address)

    assert answer.status_code == 404
    assert "There is nothing at this address." in answer.text
    assert not any(word in answer.text for word in ("Resolver404", "given query", "Http404"))


def test_address_of_nothing_repeats_a_sentence_of_ours(signed_in: Any) -> None:
    answer = signed_in(Role.MAKER).get("/today/no-such-list/")

    assert answer.status_code == 404
    assert "Today has no such list." in answer.text


def test_stranger_is_told_of_no_box_to_scan_into(client: Client) -> None:
    answer = client.get("/no-such-page/")

    assert answer.status_code == 404
    assert "in the box above" not in answer.text
