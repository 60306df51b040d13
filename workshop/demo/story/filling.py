"""Packing: released bulk goes into tins, jars and cartons."""

from decimal import Decimal

from workshop.demo.story.clock import Clock
from workshop.demo.story.making import to_division
from workshop.demo.story.story_state import Book
from workshop.demo.tables.recipes import BY_CODE
from workshop.ledger.models import Lot
from workshop.packing import services as packing
from workshop.packing.models import PackingRun, Product, Reading
from workshop.packing.runs.packable import ready_bulk
from workshop.packing.services.fill_weights import weigh
from workshop.rules.fill.fill_control import sampling_plan_us
from workshop.rules.quantities.first_expired import LotOnOffer, draw_lots

MOST_RUNS = 4
LEAST_UNITS = 4
# Beyond this what is left stays in its lot.
ABSORBED = Decimal("1.03")
LOW_FILL = Decimal("0.972")
SPREAD = Decimal("0.006")
MILLIGRAM = Decimal("0.001")


def pack_the_day(book: Book, clock: Clock) -> None:
    done = 0
    for lot in ready_bulk(on=book.day):
        if done == MOST_RUNS:
            return
        if book.random.randrange(10) < 9:  # sometimes it waits until tomorrow
            done += _pack_from(book, clock, lot)


def _pack_from(book: Book, clock: Clock, bulk: Lot) -> bool:
    """One run from a bulk lot: a part of it the first time, the rest the second."""
    product, share = _what_and_how_much(book, bulk)
    bars = book.bars_left.get(bulk.pk)
    whole = bulk.on_hand / product.fill_g / Decimal("1.004") if bars is None else Decimal(bars)
    units = int(whole * share)
    if units < LEAST_UNITS:
        return False
    spoiled = book.random.choice((0, 0, 0, 0, 1, 2))
    containers = _containers(book, product, units + spoiled)
    if containers is None:
        return False
    grams, note = _grams(book, bulk, product, units)
    if bars is not None:  # a bar weighs what it weighs
        grams = (bulk.on_hand * units / bars).quantize(MILLIGRAM)
        book.bars_left[bulk.pk] = bars - units
    run = packing.plan_run(
        product, units=units, note=note, by=book.packer, at=clock.after(2, 4), token=book.token()
    )
    _weigh_the_fill(book, clock, run, units, grams)
    lot = packing.finish(
        run,
        units=units,
        bulk=[(bulk, grams)],
        containers=containers,
        spoiled=spoiled,
        made_on=book.day,
        by=book.packer,
        at=clock.after(10, 20),
        draw=book.draw,
    )
    book.runs_of[bulk.pk] = book.runs_of.get(bulk.pk, 0) + 1
    book.packed.append((book.in_days(1, 4), lot))
    if note:
        book.note("low fill", f"lot {lot} of {product}: filled near the lower edge")
    return True


def _weigh_the_fill(book: Book, clock: Clock, run: PackingRun, units: int, grams: Decimal) -> None:
    """Weigh as many packs as the plan asks for, tared, a little off the average as pours are."""
    fill_g, spread_g = grams / units, run.product.fill_g * SPREAD
    weights = [
        round(fill_g + spread_g * book.random.randint(-200, 200) / 100, 2)
        for _ in range(sampling_plan_us(units).sample_size)
    ]
    weigh(
        run,
        Reading.NET,
        weights,
        scale=book.fine,
        by=book.packer,
        at=clock.after(6, 10),
        token=book.token(),
    )


def _containers(book: Book, product: Product, pieces: int) -> list[tuple[Lot, int]] | None:
    """So many containers, first expired first, or None when there are fewer."""
    lots = {lot.pk: lot for lot in product.container.lots.available(on=book.day)}
    on_offer = [LotOnOffer(pk, lot.on_hand, lot.best_before) for pk, lot in lots.items()]
    drawn, short = draw_lots(Decimal(pieces), on_offer)
    return None if short else [(lots[pk], int(taken)) for pk, taken in drawn]


def _what_and_how_much(book: Book, bulk: Lot) -> tuple[Product, Decimal]:
    products = [one for one in book.products.values() if one.bulk_id == bulk.item_id]
    is_first = bulk.pk not in book.runs_of
    share = Decimal(1)
    if is_first and (len(products) > 1 or book.chance(2)):
        share = Decimal(book.random.randint(55, 72)) / 100
    return products[0 if is_first else -1], share


def _grams(book: Book, bulk: Lot, product: Product, units: int) -> tuple[Decimal, str]:
    """What the units took: a little over the fill, or once nearly too little."""
    wanted = units * product.fill_g
    if product.fill_g == 60 and book.may_happen("low fill", Decimal("0.75")):
        note = "Pot ran cool and set in the spout: tins light, average near the lower edge."
        return to_division(wanted * LOW_FILL, book.bench), note
    if bulk.on_hand <= wanted * ABSORBED and BY_CODE[bulk.item.code].rework == "0":
        return bulk.on_hand, ""
    over = Decimal(book.random.randint(1, 8)) / 1000
    return min(to_division(wanted * (1 + over), book.bench), bulk.on_hand), ""
