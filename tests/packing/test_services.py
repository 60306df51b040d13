"""Packing: what a run takes and puts out, its date, and what it refuses."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError

from tests import make
from tests.packing import build
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.ledger import services as ledger
from workshop.ledger.lot_tree import links_back
from workshop.ledger.models import ItemKind, Lot, Operation, OperationKind, Posting, Side, Status
from workshop.packing import services
from workshop.packing.models import PackingRun, Product
from workshop.packing.services import products

pytestmark = pytest.mark.django_db


def test_run_takes_bulk_and_tins_and_leaves_the_rest_in_their_lots() -> None:
    product = build.product()
    bulk = make.lot(product.bulk, on_hand=2500)
    tins = make.lot(product.container, on_hand=100)

    lot = build.packed(product, 40, bulk=bulk, containers=tins)

    assert [ledger.on_hand(each) for each in (lot, bulk, tins)] == [40, 100, 60]
    assert lot.status == Status.QUARANTINE
    assert {link.source_id for link in links_back([lot.pk])} == {bulk.pk, tins.pk}


def test_run_is_closed_and_its_seal_says_what_was_packed() -> None:
    lot = build.packed(units=40, spoiled=2, note="one tin dented")

    assert lot.origin.is_closed or Operation.objects.get(pk=lot.origin_id).is_closed
    (run,) = make.sealed_rows(lot.origin, "packing_packingrun")
    postings = make.sealed_rows(lot.origin, "ledger_posting")
    assert run["note"] == "one tin dented"
    assert [one["quantity"] for one in postings] == [-2400000, -42000, 40000]


def test_spoiled_tins_leave_the_book_without_becoming_units() -> None:
    product = build.product()
    tins = make.lot(product.container, on_hand=100)

    lot = build.packed(product, 40, containers=tins, spoiled=3)

    assert ledger.on_hand(tins) == 57
    assert ledger.on_hand(lot) == 40


def test_three_half_ounce_tins_come_from_a_46_gram_melt_with_some_left() -> None:
    # Common practice, no source: 37.3 g of solid oil, 5.2 g of wax and 3.6 g of liquid oil.
    melt = Decimal("37.3") + Decimal("5.2") + Decimal("3.6")
    product = build.product(fill_g=Decimal("14.175"))
    bulk = make.lot(product.bulk, on_hand=melt)

    lot = build.packed(product, 3, bulk=bulk)

    assert melt == Decimal("46.1")
    assert ledger.on_hand(lot) == 3
    assert ledger.on_hand(bulk) == Decimal("3.575")


def test_best_before_is_the_earliest_of_shelf_life_and_all_lots_used() -> None:
    product = build.product(shelf_life_months=12)
    early, late = make.day(217), make.day(432)
    old = make.lot(product.bulk, best_before=early, on_hand=2000)
    new = make.lot(product.bulk, best_before=late, on_hand=2000)

    from_both = build.packed(product, 20, bulk=[(old, Decimal(600)), (new, Decimal(600))])
    from_new = build.packed(product, 10, bulk=new)

    assert (from_both.best_before, from_new.best_before) == (early, make.day(months=12))


def test_a_container_with_a_date_limits_the_lot_too() -> None:
    product = build.product(shelf_life_months=24)
    tins = make.lot(product.container, best_before=make.day(68))

    assert build.packed(product, 10, containers=tins).best_before == make.day(68)


def test_book_short_of_bulk_is_recorded_and_stands_below_zero() -> None:
    product = build.product()
    bulk = make.lot(product.bulk, on_hand=2000)

    lot = build.packed(product, 40, bulk=bulk, is_short=True, short_why="scraped out the pot")

    assert ledger.on_hand(lot) == 40
    assert ledger.on_hand(bulk) == -400
    taken = lot.origin.postings.get(lot=bulk)
    assert taken.reason == "Below zero: scraped out the pot"


@pytest.mark.parametrize(("on_hand", "is_asked"), [("807.499", True), ("807.5", False)])
def test_run_a_twentieth_below_zero_passes_and_beyond_it_is_asked(
    on_hand: str, *, is_asked: bool
) -> None:
    # 5 % of 850 g are 42.5 g; common practice, no source.
    product = build.product(fill_g=Decimal(85))
    bulk, tins = make.lot(product.bulk, on_hand=Decimal(on_hand)), make.lot(product.container)

    if is_asked:
        error = wrong(product, bulk=bulk, containers=tins, by=make.user(), units=10)
        assert error.field == "is_short"
        assert Posting.objects.filter(lot=bulk).count() == 1
    else:
        build.packed(product, 10, bulk=bulk, containers=tins)
        assert ledger.on_hand(bulk) == Decimal("-42.5")


def test_second_run_on_a_bulk_that_is_used_up_is_refused_and_writes_nothing() -> None:
    product = build.product(fill_g=Decimal(85))
    bulk, tins = make.lot(product.bulk, on_hand=Decimal("891.5")), make.lot(product.container)
    build.packed(product, 10, bulk=bulk, containers=tins)
    usual: dict[str, Any] = {"bulk": bulk, "containers": tins, "by": make.user(), "units": 10}

    error, unsaid = wrong(product, **usual), wrong(product, **usual, is_short=True, short_why=" ")

    assert error.message == (
        f"Lot {bulk} is 808.5\u202fg short: the book knows of 41.5\u202fg, and 850.0\u202fg are "
        "entered. Correct the lot or the grams, or tick that it was there and say why."
    )
    assert unsaid.field == "short_why"
    assert ledger.on_hand(bulk) == Decimal("41.5")


def test_same_token_packs_once() -> None:
    product = build.product()
    bulk, tins = make.lot(product.bulk, on_hand=5000), make.lot(product.container)

    first = build.packed(product, 40, bulk=bulk, containers=tins, token="t")
    again = build.packed(product, 40, bulk=bulk, containers=tins, token="t")

    assert first == again
    assert ledger.on_hand(bulk) == 2600
    with pytest.raises(ActionRefused, match="already sent with other figures"):
        build.packed(product, 41, bulk=bulk, containers=tins, token="t")


def test_lots_entered_twice_are_added_up() -> None:
    product = build.product()
    bulk = make.lot(product.bulk, on_hand=5000)

    build.packed(product, 20, bulk=[(bulk, Decimal(700)), (bulk, Decimal(500))])

    assert ledger.on_hand(bulk) == 3800


def wrong(product: Product, **values: Any) -> ActionRefused:
    """What packing 40 units with these odd values is answered, having written nothing."""
    before = (Posting.objects.count(), Operation.objects.count(), Lot.objects.count())
    with pytest.raises(ActionRefused) as refused:
        build.packed(product, values.pop("units", 40), **values)
    after = (Posting.objects.count(), Operation.objects.count(), Lot.objects.count())
    assert after == before
    return refused.value


def test_odd_figures_are_refused_and_nothing_is_written() -> None:
    product = build.product()
    bulk, tins = make.lot(product.bulk, on_hand=9000), make.lot(product.container)
    person = make.user()
    usual: dict[str, Any] = {"bulk": bulk, "containers": tins, "by": person}
    grams = [(bulk, Decimal(2150))]

    cases = [
        (wrong(product, **usual, units=0), "Pack from 1 to 100\u202f000 units."),
        (wrong(product, **usual, units=100_001), "Pack from 1 to 100\u202f000 units."),
        (wrong(product, **usual, spoiled=-1), "Spoiled containers cannot be fewer than none."),
        (
            wrong(product, **usual, made_on=make.DAY + timedelta(days=1)),
            "The day of packing lies in the future.",
        ),
        (
            wrong(product, **usual | {"bulk": grams}),
            "40 units of 60.0\u202fg hold 2\u202f400.0\u202fg, and 2\u202f150.0\u202fg of bulk is "
            "entered. That is implausibly little: correct the units or the grams.",
        ),
    ]

    assert [error.message for error, _ in cases] == [sentence for _, sentence in cases]


@pytest.mark.parametrize(
    ("grams", "is_asked"), [(2279, True), (2280, False), (2520, False), (2521, True)]
)
def test_weight_more_than_five_per_cent_away_is_asked_about(grams: int, *, is_asked: bool) -> None:
    product = build.product()
    bulk, tins = make.lot(product.bulk, on_hand=9000), make.lot(product.container)
    taken = [(bulk, Decimal(grams))]

    if is_asked:
        error = wrong(product, bulk=taken, containers=tins, by=make.user())
        assert error.field == "confirmed"
    lot = build.packed(product, 40, bulk=taken, containers=tins, confirmed=is_asked)

    assert ledger.on_hand(lot) == 40


def test_less_than_nine_tenths_is_refused_even_when_confirmed() -> None:
    product = build.product()
    bulk, tins = make.lot(product.bulk), make.lot(product.container)
    grams = [(bulk, Decimal(2159))]

    error = wrong(product, bulk=grams, containers=tins, by=make.user(), confirmed=True)

    assert error.field == "units"


def test_lots_that_may_not_be_used_are_named() -> None:
    product = build.product()
    tins = make.lot(product.container)
    person = make.user()
    other = make.lot(make.item(ItemKind.BULK))
    waiting = make.lot(product.bulk, status=Status.QUARANTINE)
    past = make.lot(product.bulk, made_on=make.day(-693), best_before=make.DAY - timedelta(days=1))
    young = make.lot(product.bulk, made_on=make.DAY)

    def refused(lot: Lot, **values: Any) -> tuple[str, str | None]:
        error = wrong(product, bulk=lot, containers=tins, by=person, **values)
        return error.message, error.field

    yesterday = make.DAY - timedelta(days=1)
    assert [refused(other), refused(waiting), refused(past), refused(young, made_on=yesterday)] == [
        (
            f"Lot {other} is {other.item}, and {product} is packed with {product.bulk}.",
            f"lot_{other.pk}",
        ),
        (
            f"Lot {waiting} is quarantine; only a released lot is packed.",
            f"lot_{waiting.pk}",
        ),
        (f"Lot {past} was best before {make.shown(-1)} and cannot be packed.", f"lot_{past.pk}"),
        (f"Lot {young} is dated {make.shown()}, after the day of packing.", f"lot_{young.pk}"),
    ]


def test_last_good_day_is_still_good_for_packing() -> None:
    product = build.product()

    lot = build.packed(product, bulk=make.lot(product.bulk, best_before=make.DAY, on_hand=5000))

    assert lot.best_before == make.DAY


def test_form_used_for_another_product_is_refused() -> None:
    build.packed(token="t")

    with pytest.raises(ActionRefused, match="already sent with other figures"):
        services.plan_run(build.product(code="OTHER"), by=make.user(), at=make.NOON, token="t")


def test_release_needs_every_lot_in_it_to_be_sound() -> None:
    product, owner = build.product(), make.user()
    bulk = make.lot(product.bulk, on_hand=5000)
    lot = build.packed(product, bulk=bulk)
    ledger.set_lot_status(bulk, Status.ON_HOLD, by=owner, at=make.NOON, reason="smell")

    with pytest.raises(ActionRefused, match=f"Lot {bulk} .* went into it and is on hold"):
        services.release(lot, by=owner, at=make.NOON)
    ledger.set_lot_status(bulk, Status.RELEASED, by=owner, at=make.NOON, reason="aired, fine")

    released = services.release(lot, by=owner, at=make.NOON, reason="weighed on paper")
    assert released.status == Status.RELEASED


def test_rejected_lot_stays_rejected() -> None:
    owner = make.user()
    lot = services.reject(build.packed(), by=owner, at=make.NOON, reason="low fill")

    for act in (services.release, services.hold):
        with pytest.raises(ActionRefused, match="A rejected lot stays rejected"):
            act(lot, by=owner, at=make.NOON, reason="again")


def test_lot_past_its_date_is_not_released() -> None:
    product = build.product()
    lot = build.packed(product, bulk=make.lot(product.bulk, best_before=make.DAY, on_hand=5000))

    with pytest.raises(ActionRefused, match=r"best before .* cannot be released any more"):
        services.release(lot, by=make.user(), at=make.NOON + timedelta(days=1))


def test_bought_lot_is_not_judged_here() -> None:
    lot = make.lot()

    with pytest.raises(ActionRefused, match=f"Lot {lot} was not packed here"):
        services.hold(lot, by=make.user(), at=make.NOON, reason="x")


def test_contents_of_a_packed_product_cannot_change() -> None:
    product = build.product()
    build.packed(product)
    facts: dict[str, Any] = {
        "code": product.item.code,
        "name": "Hand salve, large",
        "bulk": product.bulk,
        "container": product.container,
        "fill_g": Decimal(60),
    }

    renamed = products.save_product(products.ProductFacts(**facts), by=make.user(), product=product)
    with pytest.raises(ActionRefused, match="their labels must stay correct") as refused:
        products.save_product(
            products.ProductFacts(**facts | {"fill_g": Decimal(75)}),
            by=make.user(),
            product=product,
        )

    assert renamed.item.name == "Hand salve, large"
    assert refused.value.field == "fill_g"


def test_product_history_names_who_changed_it() -> None:
    owner = make.user()
    product = build.product(by=owner)

    assert product.history.get().history_user == owner
    assert product.item.history.get().history_user == owner


@pytest.mark.parametrize(
    ("part", "sentence"),
    [("bulk", "is not a bulk made here."), ("container", "is not packaging counted in pieces.")],
)
def test_product_is_a_bulk_in_a_container(part: str, sentence: str) -> None:
    oil = make.item(ItemKind.MATERIAL)
    values: dict[str, Any] = {part: oil}

    with pytest.raises(ActionRefused) as refused:
        build.product(**values)

    assert (refused.value.field, refused.value.message) == (part, f"{oil} {sentence}")


def test_gtin_belongs_to_one_product_under_any_length() -> None:
    build.product(gtin="952123454324")

    # Source: GS1 General Specifications: a GTIN-12 is the GTIN-13 with a zero in front.
    with pytest.raises(ActionRefused, match="Hand salve 60 g already has this GTIN") as refused:
        build.product(gtin="0952123454324")
    assert refused.value.field == "gtin"


def test_database_refuses_a_unit_that_holds_nothing() -> None:
    product = build.product()

    with pytest.raises(IntegrityError, match="product_holds_something"):
        Product.objects.filter(pk=product.pk).update(fill_g=0)


def test_database_refuses_a_gtin_twice() -> None:
    build.product(gtin="952123454324")
    other = build.product()

    with pytest.raises(IntegrityError):
        Product.objects.filter(pk=other.pk).update(gtin="952123454324")


def test_run_taken_back_leaves_everything_as_before() -> None:
    product, owner = build.product(), make.user()
    bulk, tins = make.lot(product.bulk, on_hand=2500), make.lot(product.container, on_hand=100)
    lot = build.packed(product, 40, bulk=bulk, containers=tins)
    run = PackingRun.objects.get(operation=lot.origin)

    services.void_run(run, by=owner, at=make.NOON, reason="four tins, not forty")

    assert [ledger.on_hand(each) for each in (lot, bulk, tins)] == [0, 2500, 100]
    assert Lot.objects.get(pk=lot.pk).status == Status.REJECTED
    assert links_back([lot.pk]) == []
    assert Operation.objects.get(pk=lot.origin_id).is_closed
    assert '"taken_back":"four tins, not forty"' in lot.origin.seals.order_by("-number")[0].record


def test_run_is_taken_back_once_by_an_owner_with_a_reason() -> None:
    lot = build.packed()
    run, owner = PackingRun.objects.get(operation=lot.origin), make.user()

    with pytest.raises(ActionRefused, match="Only an owner may amend a closed record"):
        services.void_run(run, by=make.user(Role.PACKER), at=make.NOON, reason="wrong")
    with pytest.raises(ActionRefused, match="Say why the closed record is opened again"):
        services.void_run(run, by=owner, at=make.NOON, reason=" ")
    services.void_run(run, by=owner, at=make.NOON, reason="wrong")
    with pytest.raises(ActionRefused, match="was already taken back"):
        services.void_run(run, by=owner, at=make.NOON, reason="wrong")


def test_run_whose_units_have_left_is_not_taken_back() -> None:
    lot, owner = build.packed(), make.user()
    sent = make.operation(OperationKind.DISPATCH, by=owner)
    ledger.post(sent, lot, Side.IN, Decimal(1), by=owner, at=make.NOON)
    run = PackingRun.objects.get(operation=lot.origin)

    with pytest.raises(ActionRefused, match=f"Units of lot {lot} have left or were counted"):
        services.void_run(run, by=owner, at=make.NOON, reason="wrong")
    assert Operation.objects.get(pk=lot.origin_id).is_closed


def test_form_of_a_run_taken_back_does_not_pack_again() -> None:
    product = build.product()
    bulk, tins = make.lot(product.bulk, on_hand=5000), make.lot(product.container)
    lot = build.packed(product, 40, bulk=bulk, containers=tins, token="t")
    run = PackingRun.objects.get(operation=lot.origin)
    services.void_run(run, by=make.user(), at=make.NOON, reason="wrong")

    with pytest.raises(ActionRefused, match="already sent with other figures"):
        build.packed(product, 40, bulk=bulk, containers=tins, token="t")


def test_label_has_the_name_without_the_contents_that_it_states_by_themselves() -> None:
    # 21 CFR 701.13: the net contents are one statement, in its own place.
    named = build.product(name="Foot salve 60 g")
    other = build.product(name="Foot salve 60 g, sample", label_name="Foot salve 60 g")

    assert (named.label_name, str(named)) == ("Foot salve", "Foot salve 60 g")
    assert other.label_name == "Foot salve 60 g"
