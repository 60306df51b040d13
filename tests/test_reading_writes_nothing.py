"""Every page that is only looked at is there although nothing can be written (a full disk)."""

from typing import Any

import pytest
from django.urls import reverse

from tests import make
from tests.core.test_sessions import reading_only
from tests.test_access import ALL, OPEN
from workshop.core.models import Role

# Every address without a name of something in it: the homes of rooms, lists, empty forms.
PLAIN = [
    name
    for name, pattern in ALL
    if not pattern.pattern.converters
    and name not in OPEN
    and Role.OWNER in getattr(pattern.callback, "read_roles", ())
]


@pytest.mark.django_db
def test_book_that_takes_no_entry_can_be_read_page_by_page(signed_in: Any) -> None:
    client = signed_in(Role.OWNER)
    make.lot()
    with reading_only():
        found = {name: client.get(reverse(name)).status_code for name in PLAIN}

    assert {name: status for name, status in found.items() if status not in (200, 302, 405)} == {}
    assert sum(status == 200 for status in found.values()) > 30
