"""The pages on which a dispatch is taken back or corrected, and its form sent twice."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django.asserts import assertContains, assertNotContains

from tests import make
from tests.dispatch import build
from workshop.core.models import Role
from workshop.dispatch.models import Dispatch
from workshop.ledger import services as ledger

pytestmark = pytest.mark.django_db
WHY = {"reason": "Never packed", "token": "form-1"}


@pytest.fixture
def owner(signed_in: Any) -> Client:
    client: Client = signed_in(Role.OWNER)
    return client


def page(name: str, dispatch: Dispatch) -> str:
    return reverse(f"dispatch:{name}", args=[str(dispatch)])


def test_dispatch_taken_back_still_shows_what_it_said(owner: Client) -> None:
    sent = build.sent((build.finished_lot(40), 12))

    answer = owner.post(page("undo", sent), WHY, follow=True)

    assertContains(answer, f"{sent} is taken back")
    assertContains(answer, "“Never packed”")
    assertContains(answer, "12 units were to go to")
    assertNotContains(answer, page("take-back", sent))
    assert owner.get(page("packing-slip", sent)).status_code == 200
    assertContains(owner.get(reverse("dispatch:home")), "taken back")


def test_returned_dispatch_links_to_its_return(owner: Client) -> None:
    lot = build.finished_lot(40)
    sent = build.sent((lot, 12))
    returned = build.back(sent, (lot, 1))

    assertContains(owner.get(page("undo", sent)), f"{reverse('front:scan')}?q={returned}")
    assertContains(owner.get(page("correct", sent)), f"units of it came back as {returned}")


def test_corrected_reference_stands_beside_the_old_one(owner: Client) -> None:
    sent = build.sent((build.finished_lot(40), 12), customer_reference="EX-1")
    form = {"customer": sent.customer_id, "customer_reference": "EX-2", **WHY}

    answer = owner.post(page("correct", sent), form, follow=True)

    assertContains(answer, '<s class="quiet">EX-1</s>')
    assert owner.get(page("packing-slip", sent)).status_code == 200


def test_same_form_with_other_units_says_so_keeps_them_and_goes_at_a_second_press(
    owner: Client,
) -> None:
    """No banner of the first dispatch for a second that was never written."""
    now = timezone.localdate()
    lot, to = build.finished_lot(40, made_on=now), build.customer()
    form = {
        "customer": to.pk,
        "sent_on": now.isoformat(),
        "token": "form-1",
        "rows-TOTAL_FORMS": "1",
        "rows-INITIAL_FORMS": "0",
        "rows-0-lot": lot.shown_code,
        "rows-0-units": "5",
    }
    new = reverse("dispatch:new")
    owner.post(new, form)
    first = owner.post(new, form, follow=True)
    assertContains(first, str(Dispatch.objects.get()))

    other = form | {"rows-0-units": "6"}
    refused = owner.post(new, other)
    assertContains(refused, "This form was already sent with other figures (lots)")
    assertContains(refused, 'value="6"')
    assert Dispatch.objects.count() == 1

    fresh = refused.context["form"]["token"].value()
    owner.post(new, other | {"token": fresh})
    assert Dispatch.objects.count() == 2
    assert ledger.on_hand(lot) == 29
    assert now >= make.DAY
