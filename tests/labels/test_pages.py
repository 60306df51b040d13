"""Label pages: the label beside its facts, the preview, printing and the log."""

import re
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests import make
from tests.goods_in import build as goods
from tests.labels import build, paper
from workshop.core.models import Role
from workshop.labels import services
from workshop.labels.models import Print
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, Status

pytestmark = pytest.mark.django_db


@pytest.fixture
def packer(client: Client) -> Client:
    client.force_login(make.user(Role.PACKER))
    return client


@pytest.fixture
def lot() -> Lot:
    build.workshop()
    return build.balm(
        is_small_package=True,
        identity="hand salve",
        cautions="For external use only. Keep away from eyes.",
    )


def text(response: Any) -> str:
    """The page's words with single spaces."""
    return " ".join(response.content.decode().split())


def order(**values: Any) -> dict[str, Any]:
    return {
        "token": "form-1",
        "layout": "a4-24",
        "count": "10",
        "first_cell": "1",
        "reason": "",
        **values,
    }


def test_label_stands_beside_the_facts_it_was_computed_from(packer: Client, lot: Lot) -> None:
    page = text(packer.get(reverse("labels:label", args=[lot.code])))

    assert (
        "Ingredients: Helianthus Annuus (Sunflower) Seed Oil, Beeswax, "
        "Calendula Officinalis Flower Extract." in page
    )
    assert re.search(r"<td[^>]*>70\.00</td> <td[^>]*>420\.0</td>", page)
    assert "It fits on 70 × 37 mm" in page
    assert "Organic share: 0 %" in page
    assert "is still in quarantine: labelled units wait until it is released." in page


def test_size_that_is_too_small_says_so_and_offers_no_printing(packer: Client, lot: Lot) -> None:
    page = packer.get(reverse("labels:label", args=[lot.code]), {"layout": "letter-30"})

    assert "On 66.7 × 25.4 mm there is no room for" in text(page)
    assert "Print labels" not in text(page)


def test_unknown_size_shows_the_usual_one(packer: Client, lot: Lot) -> None:
    page = packer.get(reverse("labels:label", args=[lot.code]), {"layout": "barn door"})

    assert page.context["layout"].key == "70x37"


def test_lot_without_a_label_says_why(packer: Client) -> None:
    build.workshop()
    bought = goods.lot()

    for name in ("label", "preview", "print"):
        page = packer.get(reverse(f"labels:{name}", args=[bought.code]))
        assert f"Lot {bought} was not packed here, so it has no label." in text(page)


def test_preview_is_a_marked_pdf_and_not_logged(packer: Client, lot: Lot) -> None:
    answer = packer.get(reverse("labels:preview", args=[lot.code]), {"layout": "100x70"})

    assert answer["Content-Type"] == "application/pdf"
    assert "PREVIEW" in paper.text(answer.content)
    assert paper.page_sizes_mm(answer.content) == [(100.0, 70.0)]
    assert not Print.objects.exists()


def test_printing_is_noted_and_leads_to_its_sheet(packer: Client, lot: Lot) -> None:
    page = packer.post(reverse("labels:print", args=[lot.code]), order(count="30"), follow=True)

    row = Print.objects.get()
    sheet = reverse("labels:printed", args=[row.pk])
    assert (row.count, row.layout) == (30, "a4-24")
    assert page.redirect_chain == [(f"/labels/{lot.code}/?market=US&layout=a4-24", 302)]
    (said,) = page.context["messages"]
    assert str(said).startswith(
        f"30 labels of lot {lot.shown_code} are in the log. "
        f'<a href="{sheet}" target="_blank" rel="noopener">Open the PDF</a>'
    )
    assert str(said) in page.content.decode()
    pdf = packer.get(sheet)
    assert pdf["Content-Type"] == "application/pdf"
    assert len(paper.page_sizes_mm(pdf.content)) == 2


def test_one_label_is_spoken_of_as_one(packer: Client, lot: Lot) -> None:
    page = packer.post(reverse("labels:print", args=[lot.code]), order(count="1"), follow=True)

    (said,) = page.context["messages"]
    assert str(said).startswith(f"1 label of lot {lot.shown_code} is in the log.")


def test_form_pressed_twice_is_noted_once(packer: Client, lot: Lot) -> None:
    address = reverse("labels:print", args=[lot.code])

    first, second = packer.post(address, order()), packer.post(address, order())

    assert first["Location"] == second["Location"]
    assert [row.count for row in Print.objects.all()] == [10]


@pytest.mark.parametrize(
    ("field", "other"),
    [("count", "9"), ("layout", "100x70"), ("first_cell", "2"), ("spoiled", "3"), ("reason", "x")],
)
def test_form_pressed_again_with_other_content_is_refused(
    packer: Client, lot: Lot, field: str, other: str
) -> None:
    address = reverse("labels:print", args=[lot.code])
    packer.post(address, order())

    page = packer.post(address, order(**{field: other}))

    assert "already sent with other figures" in text(page)
    assert page.context["form"][field].value() == other
    assert Print.objects.count() == 1


def test_print_form_offers_as_many_as_were_packed(packer: Client, lot: Lot) -> None:
    page = packer.get(reverse("labels:print", args=[lot.code]), {"layout": "a4-24"})

    assert page.context["form"]["count"].value() == 10
    assert page.context["form"]["layout"].value() == "a4-24"


@pytest.mark.parametrize(
    ("field", "typed", "sentence"),
    [
        ("count", "0", "Ensure this value is greater than or equal to 1."),
        ("count", "some", "Enter a whole number."),
        ("first_cell", "25", "This sheet has cells 1 to 24; there is no cell 25."),
        ("layout", "barn door", "Select a valid choice."),
        ("layout", "letter-30", "On 66.7 × 25.4 mm there is no room for"),
    ],
)
def test_odd_order_is_refused_beside_its_field(
    packer: Client, lot: Lot, field: str, typed: str, sentence: str
) -> None:
    page = packer.post(reverse("labels:print", args=[lot.code]), order(**{field: typed}))

    errors = page.context["form"].errors
    assert list(errors) == [field]
    assert errors[field][0].startswith(sentence)
    assert not Print.objects.exists()


def test_first_printing_asks_for_no_reason(packer: Client, lot: Lot) -> None:
    page = packer.get(reverse("labels:print", args=[lot.code]))

    assert "printed before" not in text(page)
    assert "required" not in page.context["form"].fields["reason"].widget.attrs


def test_printing_again_says_before_that_a_reason_is_needed(packer: Client, lot: Lot) -> None:
    address = reverse("labels:print", args=[lot.code])
    packer.post(address, order())
    packer.post(address, order(token="form-2", count="2", reason="two smeared"))

    page = packer.get(address)

    assert "12 labels of this lot were printed before, the last on" in text(page)
    assert "Needed: of this lot 12 were printed before." in text(page)
    assert page.context["form"].fields["reason"].widget.attrs["required"]


def test_printing_again_asks_why(packer: Client, lot: Lot) -> None:
    address = reverse("labels:print", args=[lot.code])
    packer.post(address, order())

    asked = packer.post(address, order(token="form-2"))
    packer.post(address, order(token="form-2", reason="two smeared"))

    assert asked.context["form"].errors == {
        "reason": [f"Labels of lot {lot} were printed before. Say why more are needed."]
    }
    assert "two smeared" in text(packer.get(reverse("labels:label", args=[lot.code])))


def test_words_that_changed_since_the_printing_are_pointed_out(packer: Client, lot: Lot) -> None:
    packer.post(reverse("labels:print", args=[lot.code]), order())
    address = reverse("labels:label", args=[lot.code])
    assert "as above" in text(packer.get(address))

    product = lot.item.product
    product.cautions = "Patch test first."
    product.save()

    assert "different from above" in text(packer.get(address))


def test_lot_on_hold_offers_no_printing(packer: Client, lot: Lot) -> None:
    ledger.set_lot_status(lot, Status.ON_HOLD, by=make.user(), at=make.NOON, reason="smell")

    label = text(packer.get(reverse("labels:label", args=[lot.code])))
    form = packer.post(reverse("labels:print", args=[lot.code]), order())

    assert "It must not be printed" in label
    assert "Print labels" not in label
    assert form.context["form"].non_field_errors() == [
        f"Lot {lot} is on hold; an owner decides about it first."
    ]


def test_organic_share_and_what_may_be_said_are_shown(packer: Client) -> None:
    build.workshop()
    olive = build.oil("Olea Oil", "olive oil", organic_until=make.day(months=12))
    lot = build.finished([(olive, 80), (build.oil("Wax"), 20)], claims_organic=True)

    page = text(packer.get(reverse("labels:label", args=[lot.code])))

    assert "Organic share: 80 %" in page
    assert "Made with organic olive oil" in page
    assert "No certifier of your own is entered under Set-up" in page


def test_log_asks_as_often_for_one_row_as_for_many(packer: Client, lot: Lot) -> None:
    address, person = reverse("labels:home"), make.user()
    services.log_print(lot, 1, by=person, at=make.NOON)
    packer.get(address)
    with CaptureQueriesContext(connection) as one:
        packer.get(address)
    for number in range(4):
        services.log_print(lot, 1, by=person, at=make.NOON, reason=f"again {number}")
    with CaptureQueriesContext(connection) as many:
        packer.get(address)

    assert len(one) == len(many)


@pytest.mark.parametrize("name", ["label", "preview", "print"])
@pytest.mark.parametrize("code", ["NOPE", "ß" * 300])
def test_unknown_lot_is_not_found(packer: Client, name: str, code: str) -> None:
    assert packer.get(reverse(f"labels:{name}", args=[code])).status_code == 404
