"""Letters of a recall: what each customer reads, and how one layout serves them all."""

import io
import unicodedata
from datetime import timedelta
from typing import Any

import pikepdf
import pypdfium2
import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from tests import make
from tests.dispatch import build as dispatch
from tests.labels import build as labels
from tests.trace import build, rooms
from workshop.aftersales.models import Recall
from workshop.aftersales.recalls.letters import letters
from workshop.aftersales.recalls.scope import scope_of
from workshop.aftersales.services.recall_terms import set_terms
from workshop.core.formatting import day
from workshop.core.saving.new_tokens import new_token
from workshop.dispatch.models import Customer
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, Status

pytestmark = pytest.mark.django_db


def pages(recall: Recall) -> list[str]:
    """The words of each page, with single spaces."""
    read = pypdfium2.PdfDocument(letters(recall, scope_of(recall).buyers))
    return [" ".join(page.get_textpage().get_text_range().split()) for page in read]


def decide(recall: Recall, **terms: Any) -> Recall:
    usual = {"hazard": "2", "depth": "retail", "level": "A", "words": "By letter"}
    at, by = make.NOON, make.user()
    return set_terms(recall, by=by, at=at, token=new_token(), **{**usual, **terms})


def test_class_stands_in_a_letter_only_once_the_authority_has_assigned_it() -> None:
    recall = rooms.recall(rooms.House().tins, hazard="2")
    assert "Class II" not in pages(recall)[0]

    classed = decide(recall, classed_by="The state laboratory", classed_on=make.DAY)

    said = f"as classified by The state laboratory on {day(make.DAY)}."
    assert f"serious harm only remotely likely; {said}" in pages(classed)[0]


def test_customer_reads_of_what_they_still_have_and_of_nothing_else() -> None:
    house = rooms.House()
    other = make.lot(house.tins.item, on_hand=50)
    dispatch.sent((house.tins, 6), (other, 5), to=house.spa)
    dispatch.back(house.to_spa, (house.tins, 18))
    recall = rooms.recall(house.wax)

    spa, shop = pages(recall)

    assert "Ostrell Larder" in shop
    assert "300" in shop
    assert (house.tins.shown_code in spa, other.shown_code in spa) == (True, False)
    dispatch.back(house.to_shop, (house.tins, 300))
    assert ["Tollen Baths" in page for page in pages(recall)] == [True]


def test_nobody_has_any_left_so_there_is_no_letter(client: Client) -> None:
    house = rooms.House()
    recall = rooms.recall(house.tins)
    dispatch.back(house.to_shop, (house.tins, 300))
    dispatch.back(house.to_spa, (house.tins, 18))
    client.force_login(make.user())

    answer = client.get(reverse("aftersales:recall-letters", args=[recall.reference]))

    assert answer.status_code == 404


def test_letter_is_dated_by_the_day_of_the_notice_whenever_it_is_printed() -> None:
    recall = rooms.recall(rooms.House().tins)
    assert day(make.DAY) in pages(recall)[0]

    decided = decide(recall, notice_on=make.DAY - timedelta(days=40))

    assert day(make.DAY - timedelta(days=40)) in pages(decided)[0]


def test_pages_are_numbered_customer_by_customer() -> None:
    house = rooms.House()
    for _ in range(45):
        tins = build.packed((house.salve, 1), units=9)
        dispatch.sent((tins, 2), to=house.shop)

    numbers = [page[-11:] for page in pages(rooms.recall(house.wax))]

    assert numbers == ["page 1 of 3", "page 2 of 3", "page 3 of 3", "page 1 of 1"]


def test_name_that_stands_for_many_is_addressed_to_its_buyers() -> None:
    house = rooms.House()
    house.stands_for_many()

    letter = pages(rooms.recall(house.tins))[0]

    assert "To everybody who bought from: Ostrell Larder" in letter
    assert "300" not in letter


@pytest.mark.parametrize(
    "name",
    [
        "Łódź & Søn’s “Çay”",
        "חנות שלום",
        "Cafe\u0301 with a joined mark",
        "A" * 118,
        "A name of many words that goes on, and on, and on, until no line holds it any more, no",
    ],
)
def test_any_name_is_written(name: str) -> None:
    house = rooms.House()
    Customer.objects.filter(pk=house.shop.pk).update(name=name, address="漢 1\n\nStreet 2")

    (its_own,) = [page for page in pages(rooms.recall(house.tins)) if "Tollen" not in page]

    letters_only = "".join(its_own.split())
    if max(name) < "\u05d0":
        wanted = unicodedata.normalize("NFC", "".join(name.split()))
        assert unicodedata.normalize("NFC", letters_only).count(wanted) == 2
    assert "Street2" in letters_only


def test_names_and_numbers_are_written_in_the_face_of_the_letter() -> None:
    """Headings bring other faces along, which have most of the same letters."""
    house = rooms.House()

    recall = rooms.recall(house.tins)

    written = letters(recall, scope_of(recall).buyers)

    with pikepdf.open(io.BytesIO(written)) as pdf:
        faces = {
            str(page.Resources.Font[str(one.operands[0])].BaseFont).partition("+")[2]
            for page in pdf.pages
            for one in pikepdf.parse_content_stream(page, "Tf")
        }
    assert faces == {"Book-Sans"}


def packed_with_a_label() -> Lot:
    labels.workshop()
    lot = labels.balm(gtin="9521234543213")  # GS1's demonstration prefix 952
    make.put(lot, Status.RELEASED)
    dispatch.sent((lot, 4), to=dispatch.customer())
    return lot


def test_letter_shows_the_label_and_names_the_gtin_and_what_is_given_back() -> None:
    recall = rooms.recall(packed_with_a_label(), remedy="New tins, postage paid")

    written = letters(recall, scope_of(recall).buyers)

    (page,) = PdfReader(io.BytesIO(written)).pages
    words = " ".join(page.extract_text().split())
    assert "GTIN 9521234543213" in words
    assert "What you get for each of these units: New tins, postage paid." in words
    assert "How to tell it: the label of Hand salve 60 g." in words
    with pikepdf.open(io.BytesIO(written)) as pdf:
        forms = pdf.pages[0].Resources.XObject.values()
        inner: Any = [form.Resources.get("/XObject", {}) for form in forms]
        kinds = {one.Subtype for held in inner for _, one in held.items()}
    assert pikepdf.Name.Image in kinds


def test_layout_is_shared_by_all_letters() -> None:
    """Two hundred letters hold the words of one, and what differs: the file shows it."""
    house = rooms.House()
    recall = rooms.recall(house.tins)
    one = len(letters(recall, scope_of(recall).buyers[:1]))
    for number in range(60):
        shop = dispatch.customer(f"Shop {number}", address=f"{number} Quay")
        make.put(house.tins, Status.RELEASED)
        dispatch.sent((house.tins, 1), to=shop)
        ledger.set_lot_status(house.tins, Status.ON_HOLD, by=make.user(), at=make.NOON, reason="x")

    written = letters(recall, scope_of(recall).buyers)

    assert len(PdfReader(io.BytesIO(written)).pages) == 62
    assert len(written) < 5 * one
