"""A session lasts from the last touch, without writing at every page that is read."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta

import pytest
from django.conf import settings
from django.contrib.sessions.models import Session
from django.db import connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from tests import make
from workshop.core.models import Role

DAY = timedelta(seconds=settings.SESSION_COOKIE_AGE)


@pytest.fixture
def maker(client: Client, db: None) -> Client:
    client.force_login(make.user(Role.MAKER))
    return client


def last_touched(*, ago: timedelta) -> None:
    Session.objects.update(expire_date=timezone.now() - ago + DAY)


@contextmanager
def reading_only() -> Iterator[None]:
    """The database takes no entry until the block ends, and none is left over."""
    connection.ensure_connection()
    try:
        with transaction.atomic():
            if connection.vendor == "sqlite":
                connection.connection.execute("PRAGMA query_only = 1")
            else:
                connection.connection.execute("SET TRANSACTION READ ONLY")
            yield
            transaction.set_rollback(True)
    finally:
        if connection.vendor == "sqlite":
            connection.connection.execute("PRAGMA query_only = 0")


def test_page_that_is_read_writes_nothing(maker: Client) -> None:
    with CaptureQueriesContext(connection) as asked:
        maker.get(reverse("front:account"))

    said = [query["sql"].split()[0] for query in asked.captured_queries]
    assert set(said) == {"SELECT"}


def test_touch_is_noted_after_ten_minutes(maker: Client) -> None:
    last_touched(ago=timedelta(minutes=11))

    answer = maker.get(reverse("front:account"))

    left = Session.objects.get().expire_date - timezone.now()
    assert left > DAY - timedelta(minutes=1)
    assert answer.cookies["sessionid"]["max-age"] == settings.SESSION_COOKIE_AGE


def test_touch_within_ten_minutes_is_not_noted(maker: Client) -> None:
    last_touched(ago=timedelta(minutes=9))
    before = Session.objects.get().expire_date

    answer = maker.get(reverse("front:account"))

    assert Session.objects.get().expire_date == before
    assert "sessionid" not in answer.cookies


def test_half_a_day_without_a_touch_ends_it(maker: Client) -> None:
    last_touched(ago=DAY + timedelta(seconds=1))

    assert maker.get(reverse("front:account")).status_code == 302


def test_book_that_takes_no_entry_can_still_be_read(maker: Client) -> None:
    last_touched(ago=timedelta(hours=1))

    with reading_only():
        answer = maker.get(reverse("front:account"))

    assert answer.status_code == 200


def test_sign_out_elsewhere_still_counts(maker: Client) -> None:
    Session.objects.all().delete()

    assert maker.get(reverse("front:account")).status_code == 302
