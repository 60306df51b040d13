"""The pages on which a receipt or a lot of it is taken back or corrected."""

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django.asserts import assertContains, assertNotContains, assertRedirects

from tests import make
from tests.goods_in import build
from workshop.core.models import Role
from workshop.goods_in.models import ReceiptLine
from workshop.ledger import services as ledger
from workshop.ledger.models import Correction, OperationKind, Side

pytestmark = pytest.mark.django_db
WHY = {"reason": "Copied from the wrong drum", "token": "form-1"}


@pytest.fixture
def owner(signed_in: Any) -> Client:
    client: Client = signed_in(Role.OWNER)
    return client


def page(name: str, line: ReceiptLine) -> str:
    of_lot = name in ("correct-line", "take-back-line")
    return reverse(f"goods_in:{name}", args=[line.lot.code if of_lot else str(line.receipt)])


def test_receipt_page_shows_the_old_supplier_lot_and_the_new_one(owner: Client) -> None:
    line = build.line(supplier_lot="EX-7I")
    form = {"supplier_lot": "EX-71", "makers_expiry": "", **WHY}

    answer = owner.post(page("correct-line", line), form, follow=True)

    assertContains(answer, "is corrected and receipt")
    assertContains(answer, '<s class="quiet">EX-7I</s>')
    assertContains(answer, "Copied from the wrong drum")


def test_correction_without_a_reason_keeps_what_was_typed(owner: Client) -> None:
    line = build.line()
    answer = owner.post(page("correct-line", line), {"supplier_lot": "EX-71", "token": "form-1"})
    assertContains(answer, "Say why the closed record is changed.")
    assertContains(answer, 'value="EX-71"')
    assert not Correction.objects.exists()


def test_receipt_taken_back_says_so_and_offers_no_more(owner: Client) -> None:
    line = build.line()
    for _ in range(2):  # a double press
        assertRedirects(owner.post(page("take-back-receipt", line), WHY), page("receipt", line))
    answer = owner.get(page("receipt", line))
    assertContains(answer, "This receipt was taken back")
    assertContains(answer, "Copied from the wrong drum")
    assertNotContains(answer, page("take-back-line", line))
    assertNotContains(answer, reverse("goods_in:release", args=[line.lot.code]))


def test_page_links_to_what_stands_in_the_way_and_shows_no_form(owner: Client) -> None:
    line = build.line()
    batch = make.operation(OperationKind.BATCH)
    ledger.post(batch, line.lot, Side.IN, Decimal(5), by=make.user(), at=make.NOON)

    for answer in (
        owner.get(page("take-back-receipt", line)),
        owner.post(page("take-back-line", line), WHY),
    ):
        assertContains(answer, f"{reverse('front:scan')}?q={batch.reference}")
        assertNotContains(answer, "Take it back")
    assert ledger.on_hand(line.lot) == 4995


def test_tags_are_printed_of_lots_that_came_in_only(owner: Client) -> None:
    item = build.material()
    first, _ = build.receipt(build.arrived(item), build.arrived(item)).lines.all()
    owner.post(page("take-back-line", first), WHY)
    assert owner.get(page("tag-labels", first)).status_code == 200
    assert first.receipt.lines.effective().count() == 1
