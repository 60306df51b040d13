"""A complaint, a recall or a drill of a lot named by its code, its supplier's lot or a name."""

from typing import Any

import pytest
from django.urls import reverse
from django.utils.html import escape
from pytest_django.asserts import assertContains, assertNotContains

from tests import make
from tests.goods_in import build as goods_in
from tests.trace import build
from workshop.aftersales.models import Complaint, Recall
from workshop.core.saving.new_tokens import new_token
from workshop.ledger.models import Lot
from workshop.trace.lot.lot_read_from_tin import MOST_NAMED, read_lot

pytestmark = pytest.mark.django_db
NEW = ["aftersales:new-drill", "aftersales:new-recall", "aftersales:new-complaint"]


def begun(**values: str) -> dict[str, str]:
    return {"reason": "Rancid", "depth": "retail", "level": "A", "remedy": "The price",
            "token": new_token(), **values}  # fmt: skip


def misread(lot: Lot) -> str:
    """The code with one character another than it was."""
    return ("2" if lot.code[0] != "2" else "3") + lot.code[1:]


def test_suppliers_lot_is_the_lot_and_a_name_only_offers() -> None:
    line = goods_in.line(supplier_lot="WX 77/4")
    lot = line.lot

    assert read_lot(lot.shown_code.lower()).lot == lot
    assert read_lot(" wx 77/4 ").lot == lot
    named = read_lot(lot.item.name.lower())
    assert (named.lot, list(named.near)) == (None, [lot])
    assert named.sentence.endswith("” is no code but a name; one lot of it is in the book.")
    assert list(read_lot(lot.item.code.lower()).near) == [lot]
    assert read_lot("no such wax").sentence.startswith("“no such wax” is not a lot code, a supp")
    for text in ("", "x", "\x00"):
        assert (read_lot(text).lot, list(read_lot(text).near)) == (None, [])


def test_more_lots_than_are_offered_are_said() -> None:
    wax = make.item(name="Beeswax")
    lots = [make.lot(wax) for _ in range(MOST_NAMED)]
    assert list(read_lot("beeswax").near) == lots[::-1]
    assert not read_lot("beeswax").has_more

    newest = make.lot(wax)

    reading = read_lot("beeswax")
    assert list(reading.near) == [newest, *lots[:0:-1]]
    assert f"These are the {MOST_NAMED} newest" in reading.sentence


@pytest.mark.parametrize("page", NEW)
def test_link_gives_the_code_with_its_dash_and_the_page_names_the_material(
    signed_in: Any, page: str
) -> None:
    lot = make.lot(make.item(name="Beeswax"))

    answer = signed_in().get(reverse(page), {"lot": lot.code})

    assertContains(answer, f'value="{lot.shown_code}"')
    assertContains(answer, f"lot {lot.shown_code}, Beeswax")


@pytest.mark.parametrize("page", NEW)
def test_link_with_a_name_leads_to_each_lot_of_it(signed_in: Any, page: str) -> None:
    wax = make.item(name="Beeswax")
    lots = [make.lot(wax), make.lot(wax)]

    answer = signed_in().get(reverse(page), {"lot": "beeswax"})

    for lot in lots:
        assertContains(answer, f'<a href="?lot={lot.code}">{lot}, Beeswax</a>', html=True)


@pytest.mark.parametrize("page", NEW[:2])
def test_lot_is_chosen_among_those_of_a_name_and_what_was_typed_stays(
    signed_in: Any, page: str
) -> None:
    wax, client = make.item(name="Beeswax"), signed_in()
    lots = [make.lot(wax), make.lot(wax)]

    asked = client.post(reverse(page), begun(lot="beeswax"))

    for lot in lots:
        assertContains(asked, f"{lot}, Beeswax, made {make.shown()}")
    assertContains(asked, "“beeswax” can mean more than one lot. Choose one.")
    assertContains(asked, 'value="Rancid"')
    assert not Recall.objects.exists()
    client.post(reverse(page), begun(lot="beeswax", meant=lots[0].code))
    assert Recall.objects.get().lot == lots[0]


@pytest.mark.parametrize("page", NEW[:2])
def test_misread_code_offers_the_near_lot_by_its_name(signed_in: Any, page: str) -> None:
    lot, client = make.lot(make.item(name="Beeswax")), signed_in()
    wrong = misread(lot)

    asked = client.post(reverse(page), begun(lot=wrong))
    assertContains(asked, f"Perhaps {lot}, Beeswax?")
    client.post(reverse(page), begun(lot=wrong, meant="another"))
    assert not Recall.objects.exists()
    client.post(reverse(page), begun(lot=lot.shown_code, meant="another"))

    assert Recall.objects.get().lot == lot


def test_what_nothing_is_called_is_said_as_it_was_typed(signed_in: Any) -> None:
    asked = signed_in().post(reverse(NEW[0]), begun(lot="bees wax"))

    assertContains(asked, escape("“bees wax” is not a lot code, a supplier's lot or a name"))
    assertNotContains(asked, "BEES")
    assert not Recall.objects.exists()


def test_complaint_takes_the_lot_that_was_chosen_by_its_name(signed_in: Any) -> None:
    tins, client = build.packed((make.lot(), 10), units=5), signed_in()
    sent = {
        "channel": "telephone", "received_on": make.DAY.isoformat(), "nature": "smell",
        "severity": "minor", "description": "It smells.", "code_read": "hand salve 60",
    }  # fmt: skip

    asked = client.post(reverse(NEW[2]), {**sent, "token": new_token()})
    assertContains(asked, f"{tins}, Hand salve 60 g, made")
    client.post(reverse(NEW[2]), {**sent, "meant": tins.code, "token": new_token()})

    assert list(Complaint.objects.get().lots.all()) == [tins]
