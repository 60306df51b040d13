"""The pages of counts and places: what they show, to whom, and what they take."""

import re
from datetime import timedelta
from decimal import Decimal
from io import BytesIO
from typing import Any

import pikepdf
import pypdfium2
import pytest
import zxingcpp
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pytest_django.asserts import assertContains

from tests import make
from tests.costs import build as costs
from tests.counts.build import a_round, counted, ended, line_of, place, put
from tests.goods_in import build as goods_in
from tests.packing import build as packing
from workshop.core.models import Role
from workshop.counts.models import Count, CountRound
from workshop.ledger import services as ledger
from workshop.ledger.models import ItemKind, Lot, Place, Placing

pytestmark = pytest.mark.django_db
PASSWORD = "open sesame, please"


def text(answer: Any) -> str:
    bare = re.sub(r"<[^>]+>", " ", answer.content.decode())
    return " ".join(bare.replace("\u2009", " ").replace("\u202f", " ").replace("\xa0", " ").split())


def page(client: Client, name: str, *args: Any) -> str:
    answer = client.get(reverse(name, args=args))
    assert answer.status_code == 200
    return text(answer)


def send(client: Client, at: str, /, *args: Any, **data: Any) -> Any:
    data.setdefault("token", "t")
    return client.post(reverse(at, args=args), data, follow=True)


def owner_with_password() -> tuple[Client, Any]:
    owner = make.user(Role.OWNER)
    owner.set_password(PASSWORD)
    owner.save()
    client = Client()
    client.force_login(owner, backend="django.contrib.auth.backends.ModelBackend")
    return client, owner


# ---- rounds --------------------------------------------------------------------------------------


def test_round_is_begun_counted_and_ended_by_the_pages(signed_in: Any) -> None:
    costs.rates()
    lot = goods_in.lot(grams=1000)
    costs.paid(lot, "20")
    packer = signed_in(Role.PACKER)

    began = send(packer, "counts:new", how="blind", tolerance_percent="1")
    found = CountRound.objects.get()
    assert f"Round {found}: 0 of 1 lot counted" in text(began)
    counting = send(packer, "counts:line", found, lot.code, counted="900", token="1")
    assert "900.0 g of lot" in text(counting)
    assert "to be counted again, best by somebody else" in text(counting)
    send(signed_in(Role.MAKER), "counts:line", found, lot.code, counted="902,5", token="2")

    owner, person = owner_with_password()
    shown = page(owner, "counts:end", found)
    assert "1 lot differs from the book" in shown
    assert "−97.5 g" in shown
    assert "−1.95 EUR" in shown
    line = line_of(found, lot).row.pk
    data = {f"post-{line}": "on", f"reason-{line}": "A leaking tap", "password": PASSWORD}
    over = send(owner, "counts:end", found, **data)

    assert "is over: the book was adjusted for 1 lot" in text(over)
    assert "0 of 1 records were correct, 0 %" in text(over)
    assert "“A leaking tap”" in text(over)
    assert ledger.on_hand(lot) == Decimal("902.5")
    assert CountRound.objects.get().end.by == person


def test_blind_round_shows_no_figure_of_the_book_to_who_counts(signed_in: Any) -> None:
    lot = make.lot(on_hand=7319)
    found = a_round()
    packer = signed_in(Role.PACKER)
    for name, args in {
        "counts:round": (found,),
        "counts:count": (found,),
        "counts:line": (found, lot.code),
        "counts:enter": (found,),
    }.items():
        assert "7 319" not in page(packer, name, *args)
    counted(found, lot, 7000)
    counted(found, lot, 7001)
    for name in ("counts:round", "counts:count"):
        assert "7 319" not in page(packer, name, found)
        assert "318" not in page(packer, name, found)
    assert "7 319.0 g" in page(signed_in(Role.OWNER), "counts:round", found)


def test_round_that_is_not_blind_shows_what_the_book_says(signed_in: Any) -> None:
    lot = make.lot(on_hand=7319)
    found = a_round(is_blind=False)
    packer = signed_in(Role.PACKER)
    assert "The book says 7 319.0 g" in page(packer, "counts:line", found, lot.code)


def test_scanned_lot_opens_its_page_and_an_unknown_code_gets_a_sentence(signed_in: Any) -> None:
    lot = make.lot()
    found = a_round()
    packer = signed_in(Role.PACKER)
    address = reverse("counts:count", args=[found])

    assert packer.get(address, {"q": lot.shown_code.lower()}).url == reverse(
        "counts:line", args=[found, lot.code]
    )
    unknown = text(packer.get(address, {"q": "NOTHING"}))
    assert "No lot has the code NOTHING." in unknown
    misread = text(packer.get(address, {"q": lot.code[:-2] + lot.code[-1] + lot.code[-2]}))
    assert "Was it one of these?" in misread
    assert lot.shown_code in misread


def test_lot_that_is_not_on_the_list_says_so_and_is_added(signed_in: Any) -> None:
    shelf, lot, stray = place(), make.lot(), make.lot(on_hand=3)
    put(shelf, lot)
    found = a_round(place=shelf)
    packer = signed_in(Role.PACKER)

    assert "This lot is not on the list" in page(packer, "counts:line", found, stray.code)
    told = text(send(packer, "counts:line", found, stray.code, counted="3"))
    assert "It was not on the list and is added as found." in told


def test_bad_figure_keeps_what_was_typed_and_writes_nothing(signed_in: Any) -> None:
    lot = make.lot()
    found = a_round()
    packer = signed_in(Role.PACKER)
    refused = send(packer, "counts:line", found, lot.code, counted="nine", note="dusty")
    assert "“nine” is not a number" in text(refused)
    assert 'value="nine"' in refused.content.decode()
    assert 'value="dusty"' in refused.content.decode()
    assert not Count.objects.exists()


def test_sheet_of_paper_is_entered(signed_in: Any) -> None:
    lot, other = make.lot(), make.lot()
    found = a_round()
    packer = signed_in(Role.PACKER)
    now = {"counted_on": make.DAY.isoformat(), "counted_time": f"{make.NOON:%H:%M}"}

    nothing = send(packer, "counts:enter", found, **now)
    assert "Enter at least one figure" in text(nothing)
    figures = {f"counted-{lot.pk}": "1000"}
    entered = send(packer, "counts:enter", found, **now, **figures, token="u")

    assert "1 lot entered from paper" in text(entered)
    assert Count.objects.get().line.lot == lot
    assert not line_of(found, other).counts


def test_wrong_password_or_no_reason_ends_nothing(signed_in: Any) -> None:
    lot = make.lot(on_hand=1000)
    found = a_round(tolerance_percent=Decimal(5))
    counted(found, lot, 990)
    owner, _ = owner_with_password()
    line = line_of(found, lot).row.pk

    wrong = send(owner, "counts:end", found, password="wrong", **{f"post-{line}": "on"})
    assert "not your password" in text(wrong)
    assert "Say why, as far as you know" in text(wrong)
    assert not CountRound.objects.exclude(end=None).exists()


def test_what_was_never_counted_shows_before_and_after_the_end(signed_in: Any) -> None:
    seen, never = make.lot(), make.lot()
    found = a_round()
    counted(found, seen, 1000)
    owner = signed_in(Role.OWNER)

    assert "1 lot was never counted" in page(owner, "counts:end", found)
    ended(found)
    over = page(owner, "counts:round", found)
    assert "Never counted: the book stays" in over
    assert never.shown_code in over
    assert "1 of 1 records were correct, 100 %" in over


def test_round_that_is_over_takes_nobody_to_a_form(signed_in: Any) -> None:
    lot = make.lot()
    found = a_round()
    ended(found)
    owner = signed_in(Role.OWNER)
    for name, args in {
        "counts:count": (found,),
        "counts:line": (found, lot.code),
        "counts:enter": (found,),
        "counts:end": (found,),
    }.items():
        answer = owner.get(reverse(name, args=args))
        assert (answer.status_code, answer.url) == (302, reverse("counts:round", args=[found]))


def test_count_sheet_is_blind_and_names_every_lot_with_its_place(signed_in: Any) -> None:
    lots = [make.lot(on_hand=7319) for _ in range(3)]
    put(place("Cupboard by the door"), lots[0])
    found = a_round()
    answer = signed_in(Role.PACKER).get(reverse("counts:sheet", args=[found]))

    words = " ".join(
        pypdfium2.PdfDocument(answer.content)[0].get_textpage().get_text_range().split()
    )
    for lot in lots:
        assert lot.shown_code in words
    assert "Cupboard by the door" in words
    assert "7 319" not in words.replace("\u2009", " ")


def test_classes_are_worked_out_by_the_page(signed_in: Any) -> None:
    costs.rates()
    lot = goods_in.lot(grams=1000)
    costs.paid(lot, "20")
    owner = signed_in(Role.OWNER)
    assert "No classes are calculated yet" in page(owner, "counts:classes")
    assert "Every item has its class" in text(send(owner, "counts:classes"))
    assert str(lot.item) in page(owner, "counts:classes")


# ---- Today, and what is due ----------------------------------------------------------------------


def test_today_says_what_is_due_and_which_round_is_under_way(signed_in: Any) -> None:
    old = make.lot(made_on=make.DAY - timedelta(days=400))
    packer = signed_in(Role.PACKER)
    today = page(packer, "front:today")
    assert "Due for counting 1" in today
    assert old.shown_code in page(packer, "counts:due")

    found = a_round(only_due=True)
    today = page(packer, "front:today")
    assert "Rounds of counting under way 1" in today
    assert "Due for counting" not in today
    assert f"{found}" in page(packer, "front:watch", "rounds")


@pytest.mark.parametrize("name", ["counts:home", "counts:due", "counts:places", "front:today"])
def test_lists_take_the_same_number_of_queries_however_long(
    name: str, signed_in: Any, django_assert_num_queries: Any
) -> None:
    owner = signed_in(Role.OWNER)
    made = _many(1)
    owner.get(reverse(name))
    with CaptureQueriesContext(connection) as few:
        owner.get(reverse(name))
    made += _many(12)
    with django_assert_num_queries(len(few)):
        owner.get(reverse(name))
    assert len(made) == 13


def _many(count: int) -> list[Place]:
    made = []
    for _ in range(count):
        shelf = place(f"Shelf {Place.objects.count()}")
        lots = [make.lot(made_on=make.DAY - timedelta(days=400)) for _ in range(2)]
        put(shelf, lots[0])
        found = a_round(place=shelf)
        counted(found, lots[0], 1)
        made.append(shelf)
    return made


def test_round_takes_the_same_number_of_queries_however_long(
    signed_in: Any, django_assert_num_queries: Any
) -> None:
    costs.rates()
    owner = signed_in(Role.OWNER)

    def addresses(lots: int) -> list[str]:
        shelf = place(f"Shelf {Place.objects.count()}")
        made = [goods_in.lot(grams=1000) for _ in range(lots)]
        put(shelf, *made)
        found = a_round(place=shelf, tolerance_percent=Decimal(20))
        for lot in made:
            counted(found, lot, 990)
        names = ("counts:round", "counts:end", "counts:count", "counts:enter")
        of_round = [reverse(name, args=[found]) for name in names]
        return [*of_round, reverse("counts:place", args=[shelf.code])]

    for short, long in zip(addresses(1), addresses(8), strict=True):
        owner.get(short)
        with CaptureQueriesContext(connection) as few:
            owner.get(short)
        with django_assert_num_queries(len(few)):
            owner.get(long)


# ---- places --------------------------------------------------------------------------------------


def test_place_is_entered_and_lots_are_put_there_by_scanning(signed_in: Any) -> None:
    lots = [make.lot() for _ in range(3)]
    packer = signed_in(Role.PACKER)
    entered = send(packer, "counts:new-place", name="Cold room", kind="cold", is_active="on")
    found = Place.objects.get()
    assert f"{found.code} , refrigerator" in text(entered)

    codes = "\n".join(lot.shown_code for lot in lots)
    done = send(packer, "counts:place", found.code, lots=codes, spot="left")
    assert "At Cold room now:" in text(done)
    assert {row.lot for row in Placing.objects.filter(place=found, spot="left")} == set(lots)


def test_unknown_code_moves_nothing_and_is_named(signed_in: Any) -> None:
    lot, shelf, other = make.lot(), place(), place("Shelf")
    packer = signed_in(Role.PACKER)
    codes = f"{lot.code}\nZZZZ-ZZZ\n{other.code}"
    refused = send(packer, "counts:place", shelf.code, lots=codes)
    assert "No lot has the code ZZZZ-ZZZ" in text(refused)
    assert f"{other.code} is a place" in text(refused)
    assert not Placing.objects.exists()


def test_lot_says_where_it_is_and_where_it_was(signed_in: Any) -> None:
    lot = make.lot()
    put(place("Cupboard"), lot, spot="top")
    put(place("Cold room"), lot)
    shown = page(signed_in(Role.PACKER), "ledger:lot", lot.code)
    assert "Cold room since" in shown
    assert "Where it was" in shown
    assert "Cupboard, top" in shown


def test_place_is_scanned_for_a_lot(signed_in: Any) -> None:
    lot, shelf = make.lot(), place()
    packer = signed_in(Role.PACKER)
    address = reverse("counts:where", args=[lot.code])
    there = packer.get(address, {"q": shelf.code})
    assert there.url == f"{reverse('counts:place', args=[shelf.code])}?lot={lot.code}"
    assert lot.code in packer.get(there.url).content.decode()
    assert "No place has the code PL9" in text(packer.get(address, {"q": "PL9"}))


def test_scan_box_opens_a_place_and_a_round(signed_in: Any) -> None:
    shelf, lot = place(), make.lot()
    packer = signed_in(Role.PACKER)
    found = a_round()
    scan = reverse("front:scan")
    assert packer.get(scan, {"q": shelf.code.lower()}).url == reverse(
        "counts:place", args=[shelf.code]
    )
    assert packer.get(scan, {"q": str(found).replace("-", " ")}).url == reverse(
        "counts:round", args=[found]
    )
    assert lot.pk


def test_tag_of_a_place_is_read_by_a_scanner(signed_in: Any) -> None:
    shelves = [place(f"Shelf {number}") for number in range(12)]
    client = signed_in(Role.INSPECTOR)
    one = client.get(reverse("counts:place-tag", args=[shelves[0].code])).content
    assert read(one) == [shelves[0].code]
    every = client.get(reverse("counts:place-tags")).content
    with pikepdf.open(BytesIO(every)) as sheets:
        assert len(sheets.pages) > 1
    assert sorted(read(every)) == sorted(shelf.code for shelf in shelves)


def read(content: bytes) -> list[str]:
    found = []
    for sheet in pypdfium2.PdfDocument(content):
        image = sheet.render(scale=4).to_pil().convert("L")
        found += [one.text for one in zxingcpp.read_barcodes(image)]
    return found


def test_place_out_of_use_takes_no_lots(signed_in: Any) -> None:
    shelf = place(is_active=False)
    refused = send(signed_in(Role.PACKER), "counts:place", shelf.code, lots=make.lot().code)
    assert "is out of use" in text(refused)
    assert not Placing.objects.exists()


def test_place_has_one_name(signed_in: Any) -> None:
    place("Cupboard")
    refused = send(signed_in(Role.OWNER), "counts:new-place", name="Cupboard", kind="cold")
    assert "There is already a place of this name." in text(refused)


def test_product_lot_at_a_place_is_shown_in_pieces(signed_in: Any) -> None:
    shelf, lot = place(), make.lot(make.item(ItemKind.PRODUCT), on_hand=12)
    put(shelf, lot)
    assert isinstance(lot, Lot)
    assert " 12 " in page(signed_in(Role.INSPECTOR), "counts:place", shelf.code)
    # Who packs parcels reads where to fetch it.
    sent = signed_in(Role.PACKER).get(reverse("dispatch:new"))
    assertContains(sent, f'<span class="sub">{shelf}</span>', html=True)


def test_who_packs_reads_where_the_bulk_and_the_tins_are(signed_in: Any) -> None:
    product = packing.product()
    for item, name in ((product.bulk, "Melts"), (product.container, "Tins")):
        put(place(name), make.lot(item, on_hand=600))
    shown = signed_in(Role.PACKER).get(
        reverse("packing:pack", args=[product.item.code]), {"units": 5}
    )
    for name in ("Melts", "Tins"):
        assertContains(shown, f'<span class="sub">{name}</span>', html=True)
