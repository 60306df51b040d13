"""Every page that is only looked at is there although nothing can be written (a full disk)."""

import pytest
from django.urls import reverse

from tests.core.test_sessions import reading_only
from tests.test_access import ALL
from tests.test_odd_input import LEFT_OUT, keys_of, world
from workshop.core.models import Role


@pytest.mark.django_db
def test_book_that_takes_no_entry_can_be_read_page_by_page() -> None:
    book = world()
    faults: list[str] = []
    looked_at = 0
    for name, pattern in ALL:
        readers: frozenset[Role] = getattr(pattern.callback, "read_roles", frozenset())
        if name in LEFT_OUT or Role.OWNER not in readers:
            continue
        address = book.find(name, pattern) or reverse(
            name, kwargs={key: book.values[key][0] for key in keys_of(pattern)}
        )
        with reading_only():
            status = book.client.get(address).status_code
        looked_at += status == 200
        if status >= 500:
            faults.append(f"{address}: status {status}")

    assert faults == []
    assert looked_at > 60
