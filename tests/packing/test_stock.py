"""Finished units on the shelf: no sample leaves unsaid, and no lot is released unseen."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.db.models import F
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pytest_django.asserts import assertContains, assertNotContains, assertRedirects

from tests import make
from tests.packing import build
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, Operation, Status
from workshop.packing.lists import samples_list
from workshop.packing.services import count_units, retained_samples
from workshop.packing.stock.retained import kept_back, retained_of, sellable

pytestmark = pytest.mark.django_db
TOKEN = "t"


def lot_with_samples(kept: int = 3) -> Lot:
    """40 units, of which some are retained."""
    lot = build.packed()
    retain(lot, kept)
    return lot


def retain(lot: Lot, units: int, place: str = "cupboard 2") -> None:
    retained_samples.retain(
        lot,
        Decimal(units),
        place=place,
        by=make.user(),
        at=make.NOON,
        token=f"{lot} {place} {units}",
    )


def discard(lot: Lot, units: int, *, token: str = TOKEN) -> Operation:
    return count_units.discard_units(
        lot, Decimal(units), by=make.user(), at=make.NOON, reason="dented", token=token
    )


def count(lot: Lot, units: int, *, token: str = TOKEN) -> Operation:
    return count_units.count_units(
        lot, Decimal(units), by=make.user(), at=make.NOON, reason="counted", token=token
    )


def test_units_for_sale_are_thrown_away_and_samples_are_not() -> None:
    lot = lot_with_samples(3)

    with pytest.raises(ActionRefused) as refused:
        discard(lot, 38)
    assert refused.value.field == "quantity"
    assert refused.value.message == (
        f"Of lot {lot} 37 may be written off; 3 more are retained as samples. Say first what "
        "becomes of those, by “Release retained samples”."
    )
    assert ledger.on_hand(lot) == 40
    first, again = discard(lot, 37), discard(lot, 37)
    assert first == again
    assert [ledger.on_hand(lot), retained_of(lot)] == [3, 3]


def test_lot_without_samples_is_thrown_away_whole_and_no_more() -> None:
    lot = build.packed()

    with pytest.raises(ActionRefused, match="holds 40, not 41"):
        discard(lot, 41)
    discard(lot, 40)

    assert ledger.on_hand(lot) == 0


def test_count_below_the_samples_asks_first_what_became_of_them() -> None:
    lot = lot_with_samples(3)

    with pytest.raises(ActionRefused, match="are retained as samples, and 2 are fewer"):
        count(lot, 2)
    assert ledger.on_hand(lot) == 40
    count(lot, 3)

    assert [ledger.on_hand(lot), sellable(lot)] == [3, 0]


def test_stock_pages_of_a_finished_lot_lead_to_where_samples_are_known(signed_in: Any) -> None:
    lot, packer = lot_with_samples(), signed_in(Role.PACKER)

    for act in ("count", "discard"):
        page = packer.get(reverse(f"ledger:{act}", args=[lot.code]), follow=True)
        assertRedirects(page, reverse(f"packing:{act}", args=[lot.code]))
        assertContains(page, "3 of them are retained as samples (cupboard 2)")
        assertContains(page, reverse("packing:give-up", args=[lot.code]))
    assert "packing/" in packer.get(reverse("ledger:lot", args=[lot.code])).content.decode()


def test_count_and_discard_are_written_by_their_pages(signed_in: Any) -> None:
    lot, packer = lot_with_samples(), signed_in(Role.PACKER)
    counting, throwing = (
        reverse(f"packing:{act}", args=[lot.code]) for act in ("count", "discard")
    )

    counted = packer.post(
        counting, {"counted": "39", "reason": "one broken", "token": "a"}, follow=True
    )
    refused = packer.post(throwing, {"quantity": "37", "reason": "dented", "token": "b"})
    thrown = packer.post(throwing, {"quantity": "2", "reason": "dented", "token": "c"}, follow=True)

    assertContains(counted, f"39 of lot {lot} counted.")
    assertContains(refused, "36 may be written off; 3 more are retained as samples.")
    assertContains(refused, 'value="37"')
    assertContains(thrown, f"2 of lot {lot} written off.")
    assert ledger.on_hand(lot) == 37


def test_lot_page_is_told_how_many_are_kept_back(signed_in: Any) -> None:
    lot = lot_with_samples(1)

    said = signed_in(Role.INSPECTOR).get(reverse("packing:kept", args=[lot.code]))

    assert " ".join(said.content.decode().split()) == (
        "<p> Of it 1 is retained as samples (cupboard 2); 39 are for sale once the lot is "
        "released. </p>"
    )


def test_samples_are_listed_with_place_and_date_and_leave_the_list_when_given_up(
    signed_in: Any,
) -> None:
    lot, packer = lot_with_samples(2), signed_in(Role.PACKER)
    retain(lot, 1, "box 9")
    other = build.packed()
    retain(other, 4)
    retained_samples.give_up(
        other, Decimal(4), reason="opened", discarded=True, by=make.user(), at=make.NOON, token="g"
    )

    page = packer.get(reverse("packing:samples"))

    assert [(one, one.kept) for one in page.context["list"].page] == [(lot, 3)]
    assertContains(page, "box 9")
    assertContains(page, "cupboard 2")


def test_samples_past_their_date_can_be_told_apart(signed_in: Any) -> None:
    retain(build.packed(build.product(shelf_life_months=6)), 2)
    page = signed_in().get(reverse("packing:samples"), {"state": "past"})
    assertContains(page, "Nothing in this list matches.")

    (past,) = (
        pick.rows
        for pick in samples_list(on=make.DAY + timedelta(days=200)).picks
        if pick.key == "past"
    )

    assert list(kept_back().filter(past).values_list(F("kept"), flat=True)) == [2]


def test_list_of_samples_needs_the_same_queries_for_one_and_for_many(signed_in: Any) -> None:
    client, address = signed_in(), reverse("packing:samples")
    counts = []
    for more in (1, 11):
        for _ in range(more):
            lot_with_samples(1)
        with CaptureQueriesContext(connection) as asked:
            client.get(address)
        counts.append(len(asked))

    assert counts[0] == counts[1]


def test_giving_samples_up_before_the_date_is_cautioned(signed_in: Any) -> None:
    lot = build.packed(build.product(shelf_life_months=24))
    retain(lot, 2)

    page = signed_in().get(reverse("packing:give-up", args=[lot.code]))

    assertContains(page, "Samples are usually kept at least until then")


# ---- The owner's page of a lot's status ----------------------------------------------------------


def test_owner_page_of_a_status_releases_no_packed_lot(signed_in: Any) -> None:
    lot, owner = build.packed(), signed_in()
    address = reverse("ledger:status", args=[lot.code])

    page = owner.get(address)
    answer = owner.post(address, {"status": "released", "reason": "now"})

    assert [value for value, _ in page.context["form"].fields["status"].choices] == [
        "on_hold",
        "rejected",
    ]
    assertContains(page, f"Release at {lot.origin.reference}")
    assertContains(
        answer,
        f"Choose one of these. Whether it is released is decided at {lot.origin}.",
    )
    assert Lot.objects.get(pk=lot.pk).status == Status.QUARANTINE
    there = owner.get(reverse("front:scan"), {"q": lot.origin.reference})
    assertRedirects(there, reverse("packing:run", args=[lot.origin.reference]))


def test_owner_page_of_a_status_puts_a_rejected_lot_back_into_quarantine_only(
    client: Client,
) -> None:
    lot, owner = build.packed(), make.user()
    owner.set_password("a slow lid")
    owner.save()
    client.force_login(owner, backend="django.contrib.auth.backends.ModelBackend")
    address = reverse("ledger:status", args=[lot.code])
    client.post(address, {"status": "rejected", "reason": "wrong lid"})

    back = {"status": "quarantine", "reason": "right lid after all"}
    client.post(address, back | {"password": "a fast lid"})
    assert Lot.objects.get(pk=lot.pk).status == Status.REJECTED
    client.post(address, back | {"password": "a slow lid"})

    assert Lot.objects.get(pk=lot.pk).status == Status.QUARANTINE
    assertNotContains(client.get(address), 'value="released"')
