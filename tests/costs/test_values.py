"""What lots cost in the book: from invoices through batches and tins, and a period that adds up."""

from datetime import timedelta
from decimal import Decimal
from fractions import Fraction
from random import Random
from typing import Any

import pytest
from django.db import connection
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests import make
from tests.costs import build
from tests.goods_in import build as goods
from tests.labels import build as labels
from tests.packing import build as packing
from tests.trace import build as history
from workshop.core.errors import ActionRefused
from workshop.core.saving.new_tokens import new_token
from workshop.costs.batch_and_run_costs import sheet_of, three_ways
from workshop.costs.models import PricedPer, Rates, SpreadBy
from workshop.costs.over_time import costs_of_lots, movers_told, picture_of
from workshop.costs.period import CLASSES, IN_WORK, Account, Period, account_of
from workshop.costs.values.lot_values import values_of
from workshop.costs.values.whole_book import whole_book
from workshop.ledger import services as ledger
from workshop.ledger.models import ItemKind, Lot, OperationKind, Posting, ShedKind, Side
from workshop.rules.money.book_costs import FINE, TOLD

pytestmark = pytest.mark.django_db
MONTH = Period(make.day(-40), make.day())
EARLIER, NOW = make.NOON - timedelta(days=60), make.NOON


def unit(lot: Lot) -> Fraction:
    return values_of({lot.pk}).of(lot.pk).amount


def delivery(*grams: int) -> Any:
    return goods.receipt(*(goods.arrived(goods.material(), grams=g) for g in grams))


def lots_of(receipt: Any) -> list[Lot]:
    return [line.lot for line in receipt.lines.all()]


# ---- What was bought -----------------------------------------------------------------------------


def test_freight_is_spread_by_value_or_by_weight() -> None:
    """45.00 over oil, 25 kg for 150.00, and wax, 10 kg for 120.00 (calculated)."""
    build.rates()
    receipt = delivery(25_000, 10_000)
    oil, wax = lots_of(receipt)
    build.invoice(receipt, "150", "120", freight=Decimal(45))
    assert [unit(oil) * 1000, unit(wax) * 1000] == [7, 14]
    build.invoice(receipt, "150", "120", freight=Decimal(45), spread_by=SpreadBy.WEIGHT)
    assert unit(oil) * 25_000 == Fraction("182.14")
    assert unit(wax) * 10_000 == Fraction("132.86")


def test_price_a_kilogram_less_discount_in_another_currency() -> None:
    build.rates()
    receipt = delivery(25_000)
    build.invoice(
        receipt, "6.00 -10", per=PricedPer.UNIT, currency="USD", exchange_rate=Decimal("0.9"),
        tax=Decimal("28.35"), duty=Decimal(5),
    )  # fmt: skip
    # (25 x 6.00 - 10 % + 5.00) x 0.9; the tax that is paid back is no cost.
    assert unit(lots_of(receipt)[0]) * 25_000 == 126


def test_what_was_noted_at_goods_in_counts_until_there_is_an_invoice() -> None:
    build.rates()
    lot = goods.lot(grams=1000, cost=Decimal("12.50"))
    assert unit(lot) * 1000 == Fraction("12.5")
    build.paid(lot, "10")
    assert unit(lot) * 1000 == 10


def test_invoice_entered_last_counts_and_the_first_stays() -> None:
    build.rates()
    lot = goods.lot(grams=1000)
    first = build.paid(lot, "10")
    build.paid(lot, "11")
    assert unit(lot) * 1000 == 11
    assert first.receipt.invoices.count() == 2


@pytest.mark.parametrize(
    ("charges", "sentence"),
    [
        (
            {"currency": "JPY", "exchange_rate": Decimal(1), "freight": Decimal("1.5")},
            "no decimals",
        ),
        ({"currency": "EUR", "exchange_rate": Decimal(2)}, "its rate is 1"),
        ({"currency": "XAU"}, "knows no such currency"),
        ({"currency": "EUR", "tax": Decimal("0.001")}, "at most 2 decimals"),
    ],
)
def test_odd_invoice_is_refused(charges: dict[str, Any], sentence: str) -> None:
    build.rates()
    with pytest.raises(ActionRefused, match=sentence):
        build.paid(goods.lot(), "10", **charges)


def test_nothing_is_reckoned_without_a_currency_and_in_no_two_of_them() -> None:
    with pytest.raises(ActionRefused, match="currency first"):
        build.paid(goods.lot(), "10")
    build.rates()
    with pytest.raises(ActionRefused, match="currency is EUR"):
        build.rates(currency="USD")


# ---- What was made -------------------------------------------------------------------------------


def test_tin_costs_what_went_into_it_and_the_work() -> None:
    build.rates(labour="30", overhead="250")
    oil, tins = goods.lot(grams=1000), make.lot(make.item(ItemKind.PACKAGING), on_hand=100)
    build.paid(oil, "20")
    balm = history.batch((oil, 1000), grams=800)
    build.minutes(balm.origin, 30)
    made = history.packed((balm, 400), (tins, 8), units=8)
    build.minutes(made.origin, 4)
    # 20 + half an hour at 30 + 250 % of that; half of it in eight tins, four minutes more.
    batch = 20 + 15 + Fraction("37.5")
    assert unit(balm) == batch / 800
    assert unit(made) == (batch / 2 + 2 + 5) / 8
    # What the tins themselves cost, nobody said.
    assert not values_of({made.pk}).of(made.pk).is_whole
    assert values_of({balm.pk}).of(balm.pk).is_whole


def test_minutes_that_nobody_entered_make_it_at_least_so_much() -> None:
    oil = goods.lot(grams=1000)
    build.rates()
    build.paid(oil, "20")
    balm = history.batch((oil, 1000), grams=800)
    assert not values_of({balm.pk}).of(balm.pk).is_whole
    build.minutes(balm.origin, 0)
    assert values_of({balm.pk}).of(balm.pk) == (Fraction(1, 40), True)


def test_spilled_grams_are_a_loss_and_the_film_is_borne_by_the_batch() -> None:
    build.rates()
    oil = goods.lot(grams=1000)
    build.paid(oil, "10")
    by = make.user()
    batch = ledger.open_operation(OperationKind.BATCH, by=by, at=NOW)
    ledger.post(batch, oil, Side.IN, Decimal(1000), by=by, at=NOW)
    ledger.shed(batch, ShedKind.SPILLED, Decimal(200), by=by, at=NOW, token=new_token())
    ledger.shed(batch, ShedKind.FILM, Decimal(200), by=by, at=NOW, token=new_token())
    balm = ledger.create_lot(
        history.bulk(), origin=batch, made_on=make.DAY, best_before=None, by=by, at=NOW
    )
    ledger.post(batch, balm, Side.OUT, Decimal(600), by=by, at=NOW)
    ledger.close_operation(batch, by=by, at=NOW)
    assert unit(balm) == Fraction(10, 800)
    assert sheet_of(batch).written_off == Fraction("2.5")


def test_soap_that_dries_keeps_its_value() -> None:
    build.rates()
    oil = goods.lot(grams=1000)
    build.paid(oil, "90")
    soap = history.batch((oil, 1000), grams=1000, name="Tollen soap")
    early = history.packed((soap, 100), units=1)
    ledger.shed_in_store(
        soap, ShedKind.DRIED, Decimal(100), by=make.user(), at=NOW, token=new_token()
    )
    late = history.packed((soap, 400), units=4)
    assert unit(early) == 9
    # 900 g of 81 became 800 g: half of them cost 40.50.
    assert unit(late) * 4 == Fraction("40.5")
    account = account_of(MONTH)
    assert account.moves["shed"][ItemKind.BULK] == 0
    assert account.closing[ItemKind.BULK] == Fraction("40.5")
    assert_book_agrees_with_its_lots()


# ---- A period ------------------------------------------------------------------------------------


FINEST = 18  # decimals of the currency that sums over the whole book are held to


def total(account: Account) -> Fraction:
    return sum((account.closing[one] for one in CLASSES), Fraction())


def test_open_batch_stands_in_work_and_a_stopped_one_is_lost() -> None:
    build.rates()
    oil = goods.lot(grams=1000)
    build.paid(oil, "10")
    by = make.user()
    batch = ledger.open_operation(OperationKind.BATCH, by=by, at=NOW)
    ledger.post(batch, oil, Side.IN, Decimal(300), by=by, at=NOW)
    assert account_of(MONTH).closing[IN_WORK] == 3
    ledger.close_operation(batch, by=by, at=NOW)
    account = account_of(MONTH)
    assert (account.closing[IN_WORK], account.moves["lost"][IN_WORK]) == (Fraction(0), Fraction(-3))
    assert account.closing[ItemKind.MATERIAL] == 7
    assert_book_agrees_with_its_lots()


def test_work_of_an_open_batch_counts_as_it_is_poured_and_the_spilled_as_it_ends() -> None:
    """1 kg of oil at 10.00 with an hour at 30.00; 200 g spilled, 600 g poured, 200 g open."""
    build.rates(labour="30")
    oil = goods.lot(grams=1000)
    build.paid(oil, "10")
    by = make.user()
    batch = ledger.open_operation(OperationKind.BATCH, by=by, at=NOW)
    build.minutes(batch, 60)
    ledger.post(batch, oil, Side.IN, Decimal(1000), by=by, at=NOW)
    account = account_of(MONTH)
    assert [account.closing[IN_WORK], account.moves["added"][IN_WORK]] == [10, 0]
    ledger.shed(batch, ShedKind.SPILLED, Decimal(200), by=by, at=NOW, token=new_token())
    balm = ledger.create_lot(
        history.bulk(), origin=batch, made_on=make.DAY, best_before=None, by=by, at=NOW
    )
    ledger.post(batch, balm, Side.OUT, Decimal(600), by=by, at=NOW)
    account = account_of(MONTH)
    assert [account.closing[IN_WORK], account.moves["added"][IN_WORK]] == [10, 30]
    assert account.closing[ItemKind.BULK] == 30
    ledger.close_operation(batch, by=by, at=NOW)
    account = account_of(MONTH)
    assert [account.closing[IN_WORK], account.moves["lost"][IN_WORK]] == [0, -10]
    assert account_of(Period(make.day(1), make.day(5))).opening[IN_WORK] == 0
    before = account_of(Period(make.day(-5), make.day(-1)))
    assert not any(before.closing.values())


def test_a_batch_that_was_opened_first_may_take_what_another_made_later() -> None:
    build.rates()
    oil = goods.lot(grams=1000)
    build.paid(oil, "10")
    by = make.user()
    later = ledger.open_operation(OperationKind.BATCH, by=by, at=NOW)
    melt = history.batch((oil, 500), grams=400)
    ledger.post(later, melt, Side.IN, Decimal(100), by=by, at=NOW)
    assert later.pk < melt.origin_id
    assert account_of(MONTH).closing[IN_WORK] == Fraction("1.25")
    assert_book_agrees_with_its_lots()


def value_by_hand() -> Fraction:
    """What is there at the lots' own costs, asked in SQL of this test's own."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT lot_id, SUM(quantity) FROM ledger_posting GROUP BY lot_id")
        held = dict(cursor.fetchall())
    values = values_of(set(held))
    return sum(
        (Fraction(int(q), 1000) * values.of(lot).amount for lot, q in held.items()), Fraction()
    )


@settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.randoms(use_true_random=False))
def test_period_closes_and_the_next_opens_with_it(draw: Random) -> None:
    """Whatever was made and counted: what came in less what left is what is there."""
    if not Rates.objects.exists():
        build.rates(labour="36")
    lots = []
    for _ in range(3):
        lot = goods.lot(grams=1000)
        build.paid(lot, str(draw.randint(0, 90)))
        lots.append(lot)
    for _ in range(4):
        sources = draw.sample(lots, 2)
        made = history.batch(
            *((lot, draw.randint(1, 300)) for lot in sources), grams=draw.randint(1, 400)
        )
        build.minutes(made.origin, draw.randint(0, 90))
        lots.append(made)
    for lot in draw.sample(lots, 3):
        held = Lot.objects.with_on_hand().get(pk=lot.pk).on_hand
        ledger.count_lot(
            lot,
            max(held, Decimal(0)) + draw.randint(0, 9),
            by=make.user(),
            at=NOW,
            reason="Round",
            token=new_token(),
        )
    whole = account_of(Period(make.day(-900), make.day()))
    assert round(total(whole) - value_by_hand(), FINEST) == 0
    after = account_of(Period(make.day(1), make.day(5))).opening
    for column in CLASSES:
        assert round(after[column] - whole.closing[column], FINEST) == 0
    # Inside a batch nothing is gained or lost but the work.
    inside = sum(sum(whole.moves[name].values()) for name in ("made", "used"))
    assert round(inside, FINEST) == 0
    assert_book_agrees_with_its_lots()


def assert_book_agrees_with_its_lots() -> None:
    """The whole book, in fine parts, and each lot by itself, in fractions: two ways to one cost."""
    costs = whole_book().costs
    for lot, cost in values_of(set(Lot.objects.values_list("pk", flat=True))).costs.items():
        assert abs(Fraction(costs.each[lot] * 1000, FINE) - cost.amount) < Fraction(1, TOLD)
        assert (lot not in costs.lacking) == cost.is_whole


def test_account_asks_as_often_for_many_lots_as_for_few(django_assert_num_queries: Any) -> None:
    build.rates()
    history.batch((goods.lot(), 10), grams=9)
    with django_assert_num_queries(16):
        account_of(MONTH)
    for _ in range(5):
        history.batch((goods.lot(), 10), (goods.lot(), 10), grams=9)
    with django_assert_num_queries(16):
        account_of(MONTH)


def test_three_ways_of_valuing_are_the_textbooks() -> None:
    """OpenStax, July: 150 at 21, 120 left, 225 at 27, 180 left, 210 at 33."""
    build.rates()
    item = goods.packaging()
    by = make.user()
    bought = [(150, 21, None), (225, 27, 120), (210, 33, 180)]
    gone = [(120, 120, 0), (180, 20, 160)]
    lots: list[Lot] = []
    for number, (pieces, price, _) in enumerate(bought):
        at = EARLIER + timedelta(days=10 * number)
        lot = goods.lot(item, grams=pieces, at=at, received_on=at.date())
        build.paid(lot, str(pieces * price))
        lots.append(lot)
        if number < len(gone):
            left = ledger.open_operation(OperationKind.DISCARD, by=by, at=at + timedelta(days=5))
            for source, quantity in zip(lots, gone[number][1:], strict=False):
                if quantity:
                    ledger.post(
                        left, source, Side.IN, Decimal(quantity), by=by, at=at + timedelta(days=5)
                    )
            ledger.close_operation(left, by=by, at=at + timedelta(days=5))
    ways = three_ways(item)
    assert [ways.by_lot.taken, ways.by_lot.left] == [7260, 8895]
    assert [ways.oldest_first.taken, ways.oldest_first.left] == [7200, 8955]
    assert round(ways.average.taken, 2) == Fraction("7252.94")
    assert Posting.objects.filter(lot__item=item).count() == 6


# ---- What it is made of --------------------------------------------------------------------------


def test_parts_of_a_cost_add_up_to_it_and_say_what_moved_it() -> None:
    """Wax at 10 and then at 16 a kilogram: of a tin of 60 g, half wax, 0.18 by the wax alone."""
    build.rates(labour="30")
    item = goods.material("Wax of bees")
    oil = goods.lot(goods.material("Hazel oil"), grams=50_000)
    build.paid(oil, "400")
    bulk = make.item(ItemKind.BULK)
    product = packing.product(bulk=bulk, fill_g=Decimal(60))
    tins = make.lot(product.container, on_hand=5000)
    made = []
    for price in ("100", "160"):
        wax = goods.lot(item, grams=10_000)
        build.paid(wax, price)
        melt = labels.bulk([(oil, 3000), (wax, 3000)], item=bulk)
        lot = packing.packed(product, 100, bulk=melt, containers=tins)
        build.minutes(lot.origin, 20)
        made.append(lot)
    later, earlier = costs_of_lots(product.item, 60)
    assert [later.lot, earlier.lot] == made[::-1]
    for one in (later, earlier):
        assert sum(one.by_item.values()) == sum(one.by_class.values()) == one.cost.amount
    assert later.change == Fraction("0.18")
    assert later.movers == (("Wax of bees", Fraction("0.18")),)
    assert movers_told(later, "EUR") == "Wax of bees +0.18"
    picture = picture_of([later, earlier], "EUR")
    assert picture is not None
    assert {word.text for word in picture.words} == {"materials", "work and overhead"}
    assert picture_of([later], "EUR") is None
