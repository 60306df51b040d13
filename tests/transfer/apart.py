"""What is taken in by a process of its own, waited for."""

import time
from typing import Any

from django.test import Client
from django.urls import reverse

PATIENCE_S = 400  # a machine that does much else at once


def taken_in(client: Client, kept: dict[str, Any]) -> str:
    """Press the button and look until it has ended; the page then."""
    page = client.post(reverse("transfer:take-in"), kept, follow=True).content.decode()
    until = time.monotonic() + PATIENCE_S
    while "how-far" in page:
        assert time.monotonic() < until
        time.sleep(0.2)
        page = client.get(reverse("transfer:under-way")).content.decode()
    return page
