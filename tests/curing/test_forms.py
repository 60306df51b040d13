"""Each form of the racks: sent twice, refused beside its field, written with all that was said."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.utils import timezone

from tests import make
from tests.curing import build
from tests.resent import bound_to, refused
from workshop.core.saving.new_tokens import new_token
from workshop.curing import services
from workshop.curing.models import CureTestKind, WeighedAs
from workshop.curing.release_readiness import cure_of, due_on_racks, on_racks, too_light
from workshop.curing.services.drying import said_of
from workshop.ledger.models import PlaceKind, ShedKind, Status
from workshop.ledger.stock_queries import balance, places_of

pytestmark = pytest.mark.django_db


def rack(name: str = "Rack 1", **values: Any) -> Any:
    return services.save_rack(name=name, by=make.user(), at=timezone.now(), **values)


def test_rack_is_bound_to_lot_place_and_bars_and_keeps_them() -> None:
    lot, other, here = build.soap(days_ago=3), build.soap(days_ago=3), rack()
    person, at = make.user(), timezone.now()
    sent: dict[str, Any] = {"lot": lot, "rack": here, "place": " Shelf 2 ", "bars": 9}

    def put(**content: Any) -> Any:
        return services.put_on_rack(**content, by=person, at=at, token="put")

    bound_to(put, sent, {"lot": other, "rack": rack("Rack 2"), "place": "Shelf 1", "bars": 8})
    row = put(**sent)
    assert (row.lot, row.rack, row.place, row.bars) == (lot, here, "Shelf 2", 9)
    assert (row.by, row.at) == (person, at)
    placing = places_of([lot.pk])[lot.pk]
    assert (placing.place.name, placing.spot) == ("Rack 1", "Shelf 2")
    closed = rack("Rack 3", is_active=False)
    refused(
        lambda: services.put_on_rack(lot, closed, by=person, at=at, token=new_token()),
        "is out of use. Choose another rack.",
        "rack",
    )
    bought = make.lot()
    refused(
        lambda: services.put_on_rack(bought, here, by=person, at=at, token=new_token()),
        "was not poured here",
    )


def test_round_is_bound_to_each_lot_kind_and_weight_and_says_what_dried() -> None:
    lot, other = build.soap(days_ago=7), build.soap(days_ago=7)
    person, at = make.user(), timezone.now()
    row = services.RoundRow(lot, WeighedAs.TRAY, Decimal(870))
    sent: dict[str, Any] = {"rows": [row]}

    def weigh(**content: Any) -> Any:
        return services.weigh_round(**content, by=person, at=at, token="round")

    bound_to(weigh, sent, {"rows": [services.RoundRow(lot, WeighedAs.TRAY, Decimal(871))]})
    for wrong in (
        services.RoundRow(other, WeighedAs.TRAY, Decimal(870)),
        services.RoundRow(lot, WeighedAs.BAR, Decimal(870)),
    ):
        refused(lambda wrong=wrong: weigh(rows=[wrong]), "already sent with other figures")  # type: ignore[misc]
    (found,) = weigh(**sent)
    assert (found.before_g, found.weight_g, found.kind) == (900, 870, "tray")
    assert (found.by, found.at) == (person, at)
    assert said_of(found).startswith(f"Lot {lot}: 30.0\u202fg dried off by ")
    assert balance(lot).on_hand == 870


@pytest.mark.parametrize(
    ("grams", "sentence"),
    [
        ("0", "weighs more than nothing"),
        ("-1", "weighs more than nothing"),
        ("NaN", "weighs more than nothing"),
        ("900.001", "does not grow"),
        ("700", "of water in it. Weigh it again."),
    ],
)
def test_weight_that_cannot_be_is_told_beside_its_lot(grams: str, sentence: str) -> None:
    lot = build.soap(days_ago=7)

    refused(lambda: build.weighed(lot, grams, kind=WeighedAs.TRAY), sentence, f"weight-{lot.pk}")
    # What has not dried yet weighs the same, and nothing is shed.
    same = build.weighed(lot, "900", kind=WeighedAs.TRAY)
    assert same.operation is None
    assert balance(lot).on_hand == 900
    assert said_of(same).startswith(f"Lot {lot}: 0.0\u202fg dried off")


def test_day_of_a_weighing_is_that_of_the_workshop() -> None:
    """An hour before midnight by universal time it is the next day in Berlin."""
    lot = build.soap(days_ago=7)
    found = build.weighed(lot, "890", kind=WeighedAs.TRAY)
    found.at = datetime(2026, 7, 1, 23, tzinfo=UTC)
    with timezone.override("Europe/Berlin"):
        assert said_of(found).endswith("dried off by 2 Jul 2026.")


def test_weighing_is_taken_back_once_with_its_reason_and_only_the_last() -> None:
    lot = build.soap(days_ago=14)
    first = build.weighed(lot, "880", kind=WeighedAs.TRAY, days_ago=7)
    last = build.weighed(lot, "860", kind=WeighedAs.TRAY)
    person, at = make.user(), timezone.now()
    sent: dict[str, Any] = {"weighing": last, "reason": " Misread "}

    def back(**content: Any) -> Any:
        return services.take_weighing_back(**content, by=person, at=at, token="back")

    refused(lambda: back(weighing=last, reason=" "), "Say why this is taken back.", "reason")
    refused(lambda: back(weighing=first, reason="Misread"), "Only the last weighing")
    bound_to(back, sent, {"weighing": first, "reason": "Slip"})
    row = back(**sent)
    assert (row.corrects, row.reason, row.by, row.at) == (last, "Misread", person, at)
    assert (row.kind, row.before_g, row.weight_g) == ("tray", 880, 860)
    assert balance(lot).on_hand == 880


@pytest.mark.parametrize(
    ("kind", "value", "is_within"),
    # A pH of 8 to 10.5; IS 2888 for the free alkali, second-hand. Met exactly is within.
    [
        (CureTestKind.PH, "7.99", False), (CureTestKind.PH, "8", True),
        (CureTestKind.PH, "10.5", True), (CureTestKind.PH, "10.51", False),
        (CureTestKind.FREE_ALKALI, "0", True), (CureTestKind.FREE_ALKALI, "0.05", True),
        (CureTestKind.FREE_ALKALI, "0.0501", False),
    ],
)  # fmt: skip
def test_value_is_held_to_the_limits_of_the_formula_which_stand_beside_it(
    kind: CureTestKind,
    value: str,
    is_within: bool,  # noqa: FBT001 -- a column of the table
) -> None:
    found = build.tested(build.soap(days_ago=7), kind, value)

    assert found.is_within is is_within
    limits = (8, Decimal("10.5")) if kind == CureTestKind.PH else (None, Decimal("0.05"))
    assert (found.least, found.most) == limits


def test_test_is_bound_to_its_value_and_method() -> None:
    lot, other = build.soap(days_ago=7), build.soap(days_ago=7)
    person, at = make.user(), timezone.now()
    sent: dict[str, Any] = {
        "lot": lot, "kind": CureTestKind.PH, "value": Decimal("9.5"), "method": " ISO 456 ",
        "note": " Warm ",
    }  # fmt: skip

    def test(**content: Any) -> Any:
        return services.add_test(**content, by=person, at=at, token="test")

    bound_to(test, sent, {
        "lot": other, "kind": CureTestKind.FREE_ALKALI, "value": Decimal("9.6"), "method": "Strip",
    })  # fmt: skip
    row = test(**sent)
    assert (row.method, row.note, row.value) == ("ISO 456", "Warm", Decimal("9.5"))
    assert (row.by, row.at, row.lot) == (person, at, lot)


def test_bars_are_trimmed_sampled_or_spilled_and_nothing_else_is_told_of_a_rack() -> None:
    lot = build.soap(days_ago=7)
    act: dict[str, Any] = {"by": make.user(), "at": timezone.now()}

    for kind in (ShedKind.TRIMMED, ShedKind.SAMPLED, ShedKind.SPILLED):
        services.lose(lot, kind, Decimal(5), note="Edges", token=new_token(), **act)
    assert balance(lot).on_hand == 885
    for kind in (ShedKind.DRIED, ShedKind.FILM):
        refused(
            lambda kind=kind: services.lose(lot, kind, Decimal(5), token=new_token(), **act),  # type: ignore[misc]
            "On a rack soap is trimmed, sampled or spilled.",
            "kind",
        )
    refused(
        lambda: services.lose(make.lot(), ShedKind.TRIMMED, Decimal(5), token=new_token(), **act),
        "was not poured here",
    )


def test_weekly_weighing_is_due_on_the_seventh_day_and_the_longest_waiting_first() -> None:
    today = timezone.localdate()
    older, newer = build.soap(days_ago=14), build.soap(days_ago=7)
    fresh, weighed, late = build.soap(days_ago=6), build.soap(days_ago=14), build.soap(days_ago=30)
    build.weighed(weighed, "120", days_ago=6)
    build.weighed(late, "120", days_ago=7)

    assert {lot.pk for lot in due_on_racks(today)} == {older.pk, newer.pk, late.pk}
    assert due_on_racks(today).first() == older
    tomorrow = today + timedelta(days=1)
    assert {fresh.pk, weighed.pk} <= {lot.pk for lot in due_on_racks(tomorrow)}
    assert newer.pk not in {lot.pk for lot in due_on_racks(today - timedelta(days=1))}


def test_rack_shows_what_is_left_those_that_are_ready_first() -> None:
    slow, quick = build.soap(days_ago=10), build.soap(days_ago=10, cure_days=20)
    rejected, no_cure = build.soap(days_ago=10), build.soap(days_ago=10, cure_days=None)
    make.put(rejected, Status.REJECTED)

    assert [cure.lot for cure in on_racks()] == [quick, slow]
    services.put_on_rack(
        no_cure, rack(), bars=10, by=make.user(), at=timezone.now(), token=new_token()
    )
    found = {cure.lot: cure for cure in on_racks()}
    assert set(found) == {quick, slow, no_cure}
    assert (found[no_cure].ready, found[no_cure].forecast) == (None, None)
    # 900 g in ten bars; and none of it is known of a lot without a number of bars.
    assert (found[no_cure].bar_g, found[slow].bar_g) == (Decimal("90.0"), None)
    assert found[no_cure].where.startswith("Rack 1")
    assert found[slow].where == ""
    assert (found[slow].lost_text, found[slow].week_loss_text) == ("–", "–")


def test_bar_promises_no_more_than_it_weighed() -> None:
    lot = build.soap(days_ago=14)
    assert too_light(lot, Decimal(200)) == ""  # nobody weighed it
    build.weighed(lot, "120", days_ago=7)

    assert too_light(lot, Decimal(120)) == ""
    assert "weighed 120.0\u202fg" in too_light(lot, Decimal("120.1"))
    cure = cure_of(lot)
    assert cure is not None
    assert cure.lost_text == "0\u202f%"
    assert cure.is_weighed_by_bar
    assert cure.bar_g == 120


def test_place_where_soap_stands_stays_a_rack() -> None:
    lot, here = build.soap(days_ago=3), rack()
    act: dict[str, Any] = {"by": make.user(), "at": timezone.now()}
    services.put_on_rack(lot, here, token=new_token(), **act)
    place = places_of([lot.pk])[lot.pk].place

    assert place.kind == PlaceKind.RACK
    refused(
        lambda: services.save_place(name="Shelf", kind=PlaceKind.CUPBOARD, place=place, **act),
        "Soap stands on this rack: it stays one.",
        "kind",
    )
    renamed = services.save_place(
        name="Tall rack", kind=PlaceKind.RACK, is_active=False, place=place, **act
    )
    here.refresh_from_db()
    assert (here.name, here.is_active, renamed.name) == ("Tall rack", False, "Tall rack")
    refused(lambda: rack("Tall rack"), "There is already a", "name")
