"""A printing is fetched again as it was, and a jam is a reprint of the same numbers."""

import pytest
from django.test import Client
from django.urls import reverse

from tests import make
from tests.labels import build, paper
from workshop.core.errors import ActionRefused
from workshop.core.models import Role, User
from workshop.labels import services
from workshop.labels.layout.label_stock import BY_KEY
from workshop.labels.models import Print
from workshop.labels.services.reprints import paper_of, print_again
from workshop.ledger.models import Lot

pytestmark = pytest.mark.django_db


@pytest.fixture
def packer() -> User:
    return make.user(Role.PACKER)


def printed(lot: Lot, by: User) -> Print:
    return services.print_labels(
        lot, layout=BY_KEY["100x100"], count=5, by=by, at=make.NOON, token="a", numbered=True
    )


def test_printing_is_fetched_again_and_noted_once(packer: User, client: Client) -> None:
    build.workshop()
    row = printed(build.balm(is_small_package=True, gtin="9521234543213"), packer)
    client.force_login(packer)

    again = client.get(reverse("labels:printed", args=[row.pk]))

    assert again["Content-Type"] == "application/pdf"
    assert paper.page_sizes_mm(again.content) == [(100.0, 100.0)] * 5
    assert Print.objects.count() == 1


def test_jam_is_a_reprint_of_the_same_numbers_with_a_reason(packer: User, client: Client) -> None:
    build.workshop()
    lot = build.balm(is_small_package=True, gtin="9521234543213")
    row = printed(lot, packer)
    client.force_login(packer)
    address = reverse("labels:print-again", args=[row.pk])

    refused = client.post(address, {"token": "b", "first": 3, "count": 9, "reason": "jam"})
    assert "That printing had labels 1 to 5." in refused.content.decode()
    client.post(address, {"token": "b", "first": 3, "count": 2, "reason": "jam"})

    again = Print.objects.get(again_of=row)
    assert (again.first_number, again.count, again.reason) == (3, 2, "jam")
    # The next printing goes on after the last number, not after the reprint.
    services.print_labels(
        lot, layout=BY_KEY["100x100"], count=1, by=packer, at=make.NOON, token="c",
        numbered=True, reason="more",
    )  # fmt: skip
    assert Print.objects.values_list("first_number", flat=True).first() == 6


def test_label_that_changed_since_is_not_fetched_again(packer: User) -> None:
    build.workshop()
    lot = build.balm(is_small_package=True, gtin="9521234543213")
    row = printed(lot, packer)
    lot.item.product.directions = "Use sparingly."
    lot.item.product.save()

    row = Print.objects.get()
    with pytest.raises(ActionRefused, match="has changed since"):
        paper_of(row)
    with pytest.raises(ActionRefused, match="Say what became"):
        print_again(row, first=1, count=1, reason=" ", by=packer, at=make.NOON, token="d")
