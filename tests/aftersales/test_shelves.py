"""What is found on the shelves: read as it is written, and asked for twice if far from the book."""

from decimal import Decimal
from typing import Any

import pytest
from django.urls import reverse
from pytest_django.asserts import assertContains, assertNotContains

from tests import make
from tests.counts import build as counts
from tests.kettle import build as kettle
from tests.page_forms import form_of
from tests.resent import refused
from tests.trace import build, rooms
from workshop.aftersales.models import Recall, RecallLine
from workshop.core.formatting import THIN
from workshop.core.saving.new_tokens import new_token
from workshop.ledger.models import Lot

pytestmark = pytest.mark.django_db


def closing(recall: Recall) -> str:
    return reverse("aftersales:close-recall", args=[recall.reference])


def found(lot: Lot, text: str) -> dict[str, str]:
    return {f"found_{lot.pk}": text, "token": new_token()}


@pytest.mark.parametrize(
    ("text", "grams"),
    [
        ("19.8 kg", "19800"), ("19800", "19800"), ("19 800", "19800"), ("19 800.0 g", "19800"),
        (f"19{THIN}800.0{THIN}g", "19800"), ("3 x 6 kg", "18000"), ("19,8 kg", "19800"),
    ],
)  # fmt: skip
def test_box_reads_a_quantity_as_it_is_written(signed_in: Any, text: str, grams: str) -> None:
    wax = make.lot(make.item(name="Beeswax"), on_hand=19_800)
    drill, client = rooms.recall(wax, is_drill=True), signed_in()

    page = client.get(closing(drill))
    assertContains(page, f"Found of {wax}, Beeswax, in grams")
    assertContains(page, f"The book says 19{THIN}800.0{THIN}g.")
    client.post(closing(drill), found(wax, text))

    assert RecallLine.objects.get().found == Decimal(grams)


def test_pieces_are_named_and_none_of_them_is_a_count(signed_in: Any) -> None:
    house, client = rooms.House(), signed_in()
    drill = rooms.recall(house.tins, is_drill=True)
    assertContains(client.get(closing(drill)), f"Found of {house.tins}, Hand salve 60 g, in pieces")

    assertContains(client.post(closing(drill), found(house.tins, "2 kg")), "a number of pieces")
    asked = client.post(closing(drill), found(house.tins, "0"))
    assertContains(asked, f"the book says 162{THIN}pieces, found 0{THIN}pieces")
    client.post(closing(drill), form_of(asked))

    assert RecallLine.objects.get().found == 0


def test_far_from_the_book_is_asked_for_once_more_before_it_closes(signed_in: Any) -> None:
    wax = make.lot(make.item(name="Beeswax"), on_hand=19_800)
    drill, client = rooms.recall(wax, is_drill=True), signed_in()

    asked = client.post(closing(drill), found(wax, "19.8"))
    told = f"Lot {wax}, Beeswax: the book says 19{THIN}800.0{THIN}g, found 19.8{THIN}g."
    assertContains(asked, told)
    assertContains(asked, 'value="19.8"')
    assert not RecallLine.objects.exists()

    # Other figures that are far off are asked for anew; the very same are taken.
    again = client.post(closing(drill), {**form_of(asked), f"found_{wax.pk}": "20"})
    assertContains(again, f"found 20.0{THIN}g.")
    ended = client.post(closing(drill), form_of(again), follow=True)

    assert RecallLine.objects.get().found == 20
    assertContains(ended, '<p class="warning">Drill')
    assertContains(
        ended, f"Lot {wax}, Beeswax: 19{THIN}780.0{THIN}g of 19{THIN}800 not found anywhere."
    )
    assertNotContains(ended, "no finished unit was affected")


def test_heading_says_what_was_found_once_it_is_closed(signed_in: Any) -> None:
    house = rooms.House()
    drill = rooms.recall(house.wax, is_drill=True)
    page = reverse("aftersales:recall", args=[drill.reference])
    assertContains(signed_in().get(page), "318 units with 2 customers, 162 finished on hand")

    rooms.close(drill, {house.tins: 160})

    assertContains(
        signed_in().get(page), "318 units with 2 customers, 160 finished found, 162 by the book"
    )


def test_batch_under_way_is_a_link_until_it_is_poured(signed_in: Any) -> None:
    made = kettle.filled()
    batch = made.operation
    wax = batch.postings.order_by("pk")[0].lot
    drill, client = rooms.recall(wax, is_drill=True), signed_in()
    page = reverse("aftersales:recall", args=[drill.reference])
    link = f'<a class="code" href="/kettle/{batch}/">{batch}</a>'

    assertContains(client.get(page), link, html=True)
    assertContains(client.get(page), "is under way with an affected lot", count=1)
    assertContains(client.get(reverse("aftersales:new-recall"), {"lot": wax.code}), link, html=True)
    (salve,) = kettle.pour(made)
    assertNotContains(client.get(page), "is under way")
    assertContains(client.get(page), salve.shown_code)


def test_all_found_is_told_as_good(signed_in: Any) -> None:
    wax = make.lot(on_hand=19_800)
    drill = rooms.recall(wax, is_drill=True)

    ended = signed_in().post(closing(drill), found(wax, "19.8 kg"), follow=True)

    assertContains(ended, '<p class="success">Drill')
    assertContains(ended, "no finished unit was affected.")


def test_whoever_sits_at_no_form_is_not_asked_and_a_mark_is_of_its_figures_alone() -> None:
    house = rooms.House()
    recall, other = rooms.recall(house.tins), rooms.recall(house.wax, is_drill=True)

    refused(lambda: rooms.close(recall, {house.tins: 100}, sure=""), "far from the book")
    refused(lambda: rooms.close(recall, {house.tins: 100}, sure="other"), "far from the book")
    assert rooms.close(recall, {house.tins: 146}, sure="").is_closed  # 16 of 162 short
    assert rooms.close(other, {house.tins: 100}).is_closed


def test_no_more_than_eight_lots_are_named(signed_in: Any) -> None:
    wax = make.lot(make.item(name="Beeswax"), on_hand=90)
    tins = [build.packed((wax, 10), units=5) for _ in range(9)]
    drill = rooms.recall(wax, is_drill=True)
    counts = {f"found_{lot.pk}": "1" for lot in tins}

    asked = signed_in().post(closing(drill), {**counts, "token": new_token()})

    assertContains(asked, f"the book says 5{THIN}pieces, found 1{THIN}piece", count=8)
    assertContains(asked, "; and 1 more. Look again")


def test_each_lot_says_where_it_lies(signed_in: Any) -> None:
    house, client = rooms.House(), signed_in()
    drill = rooms.recall(house.wax, is_drill=True)
    cupboard = counts.place("Tall cupboard")
    counts.put(cupboard, house.wax, spot="behind the drum")

    page = client.get(closing(drill))

    assertContains(page, "It lies at: Tall cupboard, behind the drum. The book says")
    assertContains(page, "No place of it is in the book. The book says", count=2)


def test_counts_are_kept_by_the_page_until_it_is_closed(signed_in: Any) -> None:
    house, client = rooms.House(), signed_in()
    recall = rooms.recall(house.tins)
    page = reverse("aftersales:recall", args=[recall.reference])

    assertContains(client.get(closing(recall)), f'data-kept="{recall}"')
    assertContains(client.get(closing(recall)), "js/drill.js")
    assertNotContains(client.get(page), "data-forget")
    rooms.close(recall)
    assertContains(client.get(page), f'data-forget="{recall}"')
    assertContains(client.get(page), "js/drill.js")
