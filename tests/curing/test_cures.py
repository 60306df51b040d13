"""Soap on its rack: what it loses, what a release asks for, what a label may promise."""

from datetime import timedelta
from decimal import Decimal
from importlib import import_module
from typing import Any

import pytest
from django.apps import apps
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django.asserts import assertContains

from tests import make
from tests.curing import build
from tests.kettle import build as kettle
from tests.kettle import soaps
from tests.packing import build as packing
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.curing import services
from workshop.curing.models import (
    CureTest,
    CureTestKind,
    CureWeighing,
    Rack,
    Standing,
    WeighedAs,
)
from workshop.curing.release_readiness import cure_of, on_racks
from workshop.goods_in.lot_composition import composition_of
from workshop.kettle import services as kettle_services
from workshop.kettle.models import Batch
from workshop.kettle.weighing.weighed_superfat import soap_in
from workshop.ledger.models import Lot, Place, PlaceKind, Shed, Status
from workshop.ledger.proof.checks import run_checks
from workshop.ledger.stock_queries import balance, places_of
from workshop.packing import services as packing_services
from workshop.trace.lot.query import trace

pytestmark = pytest.mark.django_db


def lacks(lot: Lot) -> str:
    cure = cure_of(lot)
    assert cure is not None
    return " ".join(cure.unmet(timezone.localdate()))


def release(lot: Lot, **values: Any) -> Lot:
    kettle.release(lot.origin.batch, at=timezone.now(), **values)
    return Lot.objects.get(pk=lot.pk)


def act() -> dict[str, Any]:
    return {"by": make.user(), "at": timezone.now(), "token": new_token()}


def test_bar_that_lost_a_tenth_says_that_the_lot_did() -> None:
    lot = build.soap(days_ago=14)
    build.weighed(lot, "120", days_ago=7)

    build.weighed(lot, "108")

    assert (balance(lot).shed, balance(lot).on_hand) == (Decimal(90), Decimal(810))
    assert balance(lot).counted == balance(lot).unaccounted == 0
    assert Shed.objects.by_kind() == {"dried": 90_000}
    assert [check.problems for check in run_checks() if check.problems] == []


def test_tray_is_the_whole_lot() -> None:
    lot = build.soap(days_ago=7)

    build.weighed(lot, "871.5", kind=WeighedAs.TRAY)

    assert balance(lot).on_hand == Decimal("871.5")


@pytest.mark.parametrize(
    ("grams", "kind", "sentence"),
    [
        ("121", WeighedAs.BAR, "does not grow"),
        ("800", WeighedAs.TRAY, "go on so"),
        ("100", WeighedAs.BAR, "of water in it"),
    ],
)
def test_weighing_that_cannot_be_is_refused(grams: str, kind: WeighedAs, sentence: str) -> None:
    """Of 900 g some 128 g are water: 120 g of a bar cannot dry to 100 g."""
    lot = build.soap(days_ago=14)
    build.weighed(lot, "120", days_ago=7)

    with pytest.raises(ActionRefused, match=sentence) as caught:
        build.weighed(lot, grams, kind=kind)

    assert caught.value.field == f"weight-{lot.pk}"
    assert balance(lot).on_hand == 900


def test_round_that_fails_for_one_lot_records_none() -> None:
    first, second = build.soap(days_ago=7), build.soap(days_ago=7)
    rows = [
        services.RoundRow(first, WeighedAs.TRAY, Decimal(880)),
        services.RoundRow(second, WeighedAs.TRAY, Decimal(901)),
    ]

    with pytest.raises(ActionRefused):
        services.weigh_round(rows, **act())

    assert not CureWeighing.objects.exists()
    assert balance(first).on_hand == 900


def test_wrong_weighing_is_taken_back_with_what_it_said_had_dried() -> None:
    lot = build.soap(days_ago=14)
    build.weighed(lot, "120", days_ago=7)
    wrong = build.weighed(lot, "108")

    services.take_weighing_back(wrong, reason="Read another scale", **act())

    assert balance(lot).on_hand == 900
    assert Shed.objects.effective().count() == 0
    build.weighed(lot, "118")
    assert balance(lot).on_hand == 885
    assert [check.problems for check in run_checks() if check.problems] == []


def test_release_asks_for_days_tests_and_rest() -> None:
    lot = build.soap(days_ago=14)

    told = lacks(lot)
    assert "cures until" in told
    assert "was not tested: pH" in told
    assert "was not tested: free alkali" in told
    assert "at least twice, a week apart" in told

    with pytest.raises(ActionRefused, match="cures until"):
        release(lot)


def test_release_is_refused_while_it_still_loses_too_much() -> None:
    lot = build.soap(days_ago=50)
    build.weighed(lot, "120", days_ago=8)
    build.weighed(lot, "118", days_ago=1)

    assert "still loses 1.67" in lacks(lot)


def test_failed_test_stops_a_release_until_a_later_one_passes() -> None:
    lot = build.cured()
    build.tested(lot, CureTestKind.FREE_ALKALI, "0.06")
    assert "outside its limits" in lacks(lot)

    build.tested(lot, CureTestKind.FREE_ALKALI, "0.05")
    assert lacks(lot) == ""
    assert release(lot).status == Status.RELEASED


def test_owner_releases_in_spite_of_it_with_a_reason_and_it_shows_ever_after() -> None:
    lot = build.soap(days_ago=14)

    with pytest.raises(ActionRefused, match="Say why"):
        release(lot, is_despite=True)
    release(lot, is_despite=True, note="For a test batch at the fair")

    last = lot.status_changes.last()
    assert last is not None
    assert "cures until" in last.despite
    assert last.reason == "For a test batch at the fair"


def packed(lot: Lot, fill: str) -> Lot:
    product = packing.product(bulk=lot.item, fill_g=Decimal(fill))
    boxes = make.lot(product.container, on_hand=20)
    return packing_services.pack(
        product, units=5, bulk=[(lot, 5 * Decimal(fill))], containers=[(boxes, 5)],
        made_on=timezone.localdate(), **act(),
    )  # fmt: skip


def test_bar_is_not_packed_under_more_than_it_weighs() -> None:
    lot = release(build.cured())

    with pytest.raises(ActionRefused, match="weighed 110\\.4"):
        packed(lot, "111")
    assert packed(lot, "110").item.kind == "product"


def test_packing_asks_again_unless_an_owner_passed_it_over() -> None:
    lot = release(build.cured())
    build.tested(lot, CureTestKind.FREE_ALKALI, "0.09")
    with pytest.raises(ActionRefused, match="failed its test"):
        packed(lot, "110")

    young = build.soap(days_ago=1)
    early = packed(release(young, is_despite=True, note="Samples"), "110")
    assert early.status == Status.QUARANTINE


def test_racks_take_the_same_queries_with_one_lot_and_with_many(
    django_assert_max_num_queries: Any,
) -> None:
    for _ in range(5):
        build.cured()

    with django_assert_max_num_queries(6):
        cures = on_racks()
        assert [cure.unmet(timezone.localdate()) for cure in cures] == [[]] * 5


def test_grated_soap_goes_into_the_next_one_as_rework_with_all_that_follows() -> None:
    """A soap that still waits need not be released for it: the new one cures and is tested anew."""
    old = build.soap(days_ago=60)
    at = timezone.now() - timedelta(days=50, hours=2)
    version = soaps.version(**build.TERMS, rework_limit=Decimal(30))
    batch = kettle.batch(version, at=at)
    for line in batch.lines.all():
        kettle.weigh(line, lot=make.lot(line.item, made_on=old.made_on), at=at)
    kettle_services.add_unplanned(
        batch, old.item, old, Decimal(250), reason="Grated: too soft", scale=batch.scale,
        by=make.user(), at=at, token=new_token(),
    )  # fmt: skip
    (made,) = kettle.pour(Batch.objects.get(pk=batch.pk), "1200", at=at)
    lot = Lot.objects.select_related("item", "origin__batch").get(pk=made.pk)

    assert sum(composition_of(lot).values()) == 1
    soap = soap_in(batch)
    assert soap is not None
    assert soap.refusal == ""
    assert {one.lot.pk for one in trace(old).products} == {lot.pk}
    assert "was not tested" in lacks(lot)
    for days_ago, grams in ((14, "100"), (7, "99.8"), (0, "99.7")):
        build.weighed(lot, grams, days_ago=days_ago)
    build.tested(lot, CureTestKind.PH, "9.6")
    build.tested(lot, CureTestKind.FREE_ALKALI, "0.03")
    assert release(lot).status == Status.RELEASED
    assert Lot.objects.get(pk=old.pk).status == Status.QUARANTINE


def test_soap_on_hold_is_decided_about_before_it_is_reworked() -> None:
    old = build.soap(days_ago=60)
    old = make.put(old, Status.ON_HOLD)
    batch = kettle.filled(soaps.version(**build.TERMS, rework_limit=Decimal(30)))

    with pytest.raises(ActionRefused, match="on hold"):
        kettle_services.add_unplanned(
            batch, old.item, old, Decimal(250), reason="Grated", scale=batch.scale, **act()
        )


# ---- pages ---------------------------------------------------------------------------------------


def test_round_weighs_every_lot_on_one_page(client: Client) -> None:
    client.force_login(make.user(Role.MAKER))
    first, second, third = (build.soap(days_ago=10) for _ in range(3))
    build.weighed(first, "120", days_ago=7)
    typed = {
        f"weight-{first.pk}": "117.6",
        f"weight-{second.pk}": "0.87 kg",
        f"kind-{second.pk}": "tray",
        "token": new_token(),
    }

    answer = client.post(reverse("curing:home"), typed, follow=True)

    assertContains(answer, f"Lot {first}: 18.0\u202fg dried off")
    assert [balance(lot).on_hand for lot in (first, second, third)] == [882, 870, 900]


def test_round_keeps_what_was_typed_where_one_weight_cannot_be(client: Client) -> None:
    client.force_login(make.user(Role.MAKER))
    lot = build.soap(days_ago=10)

    typed = {f"weight-{lot.pk}": "950", f"kind-{lot.pk}": "tray", "token": new_token()}
    answer = client.post(reverse("curing:home"), typed)

    assertContains(answer, "does not grow")
    assertContains(answer, 'value="950"')


def test_titration_is_worked_out_and_held_to_the_formula(client: Client) -> None:
    client.force_login(make.user(Role.MAKER))
    lot = build.soap(days_ago=45)
    typed = {
        "kind": "alkali",
        "method": "ISO 456",
        "acid_ml": "2.40",
        "acid_molar": "0.1",
        "soap_g": "10",
        "token": new_token(),
    }

    answer = client.post(reverse("curing:test", args=[lot.code]), typed, follow=True)

    assertContains(answer, "outside its limits")
    row = CureTest.objects.get(lot=lot)
    assert (row.value, row.is_within) == (Decimal("0.096"), False)


def test_owner_enters_a_rack_and_a_maker_puts_a_lot_there(client: Client) -> None:
    client.force_login(make.user(Role.OWNER))
    client.post(reverse("curing:new-rack"), {"name": "Rack by the window", "is_active": "on"})
    lot = build.soap(days_ago=1)
    rack = Rack.objects.get()

    typed = {"rack": rack.pk, "place": "trays 3 and 4", "bars": "8", "token": new_token()}
    answer = client.post(reverse("curing:put", args=[lot.code]), typed, follow=True)

    assertContains(answer, "stands on Rack by the window, trays 3 and 4")
    cure = cure_of(lot)
    assert cure is not None
    assert cure.bar_g == Decimal("112.5")
    assert cure.bar_forecast_g == Decimal("99.0")
    assert cure.ready == lot.made_on + timedelta(days=42)

    # The rack is a place with a tag; a lot that is scanned elsewhere is no longer on it.
    place = Place.objects.get()
    assert (place.name, place.kind) == ("Rack by the window", PlaceKind.RACK)
    assert str(places_of([lot.pk])[lot.pk]) == "Rack by the window, trays 3 and 4"
    form = {"kind": "rack", "is_active": "on"}
    client.post(reverse("counts:new-place"), form | {"name": "Rack by the door"})
    client.post(reverse("counts:new-place"), form | {"name": "Shelf", "kind": "shelf"})
    for name in ("Shelf", "Rack by the door"):
        found = Place.objects.get(name=name)
        scanned = {"lots": lot.code, "spot": "left", "token": new_token()}
        client.post(reverse("counts:place", args=[found.code]), scanned)
        assertContains(client.get(reverse("curing:lot", args=[lot.code])), f"{name}, left, 8 bars")
    assert [row.rack.name for row in lot.standings.order_by("pk")] == [
        "Rack by the window",
        "Rack by the door",
    ]


def test_a_rack_and_its_place_have_one_name(client: Client) -> None:
    by, at = make.user(Role.OWNER), make.NOON
    rack = services.save_rack(name="Rack", by=by, at=at)
    place = Place.objects.get()
    services.save_rack(name="Rack, upper half", is_active=False, rack=rack, by=by, at=at)
    assert Place.objects.values_list("name", "is_active").get() == ("Rack, upper half", False)
    client.force_login(by)
    address = reverse("counts:edit-place", args=[place.code])
    watched = client.get(address).context["form"]["seen"].value()
    sent = {"name": "Rack, lower half", "kind": "rack", "is_active": "on", "seen": watched}
    client.post(address, sent)
    assert Rack.objects.values_list("name", "is_active").get() == ("Rack, lower half", True)
    assertContains(client.post(address, sent | {"kind": "shelf"}), "it stays one")
    services.save_place(name="Shelf", kind=PlaceKind.SHELF, by=by, at=at)
    with pytest.raises(ActionRefused, match="already a place of this name"):
        services.save_rack(name="Shelf", by=by, at=at)


def test_racks_of_an_older_book_become_places_with_what_stands_on_them() -> None:
    by, at = make.user(Role.OWNER), make.NOON
    rack = Rack.objects.create(name="Rack")
    lots = [build.soap(days_ago=1), build.soap(days_ago=2)]
    for number, lot in enumerate(lots):
        Standing.objects.create(lot=lot, rack=rack, place="t", by=by, at=at, token=f"old {number}")
    elsewhere = services.save_place(name="Shelf", kind=PlaceKind.SHELF, by=by, at=at)
    services.move(lots[:1], elsewhere, by=by, at=at, token=new_token())
    services.move(lots[1:], elsewhere, by=by, at=at - timedelta(days=1), token=new_token())
    carry = import_module("workshop.curing.migrations.0003_lots_on_racks_have_a_place")
    for _ in range(2):  # done once, the second time finds nothing to do
        carry.enter_places(apps, None)
        carry.put_lots_there(apps, None)
    assert [str(places_of([lot.pk])[lot.pk]) for lot in lots] == ["Shelf", "Rack, t"]
    assert [check.problems for check in run_checks() if check.problems] == []


def test_owner_sees_what_is_lacking_where_it_is_released(client: Client) -> None:
    owner = make.user(Role.OWNER)
    owner.set_password("salt and tallow")
    owner.save()
    client.force_login(owner)
    lot = build.soap(days_ago=14)
    page = reverse("kettle:release", args=[lot.origin.reference])
    assertContains(client.get(page), "Release it despite what is missing")

    signed = {"note": "For the fair", "is_despite": "on", "password": "salt and tallow"}
    client.post(page, signed)

    answer = client.get(reverse("ledger:lot", args=[lot.code]))
    assertContains(answer, "Despite this: Lot")
