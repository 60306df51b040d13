"""Goods-in: what is ordered each week, and what the suppliers bring."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date, timedelta
from decimal import ROUND_CEILING, Decimal

from workshop.demo.story.clock import Clock
from workshop.demo.story.story_state import DAYS, Book, Order
from workshop.demo.tables.people import MINTS
from workshop.demo.tables.products import SOLD
from workshop.demo.tables.recipes import BY_CODE, RECIPES
from workshop.goods_in.delivery_checks import ArrivedLot
from workshop.goods_in.models import Certificate, Receipt, ReceiptLine
from workshop.goods_in.services import receive
from workshop.ledger.models import Item, ItemKind
from workshop.rules.dates.calendar_days import add_months

WEEKS = Decimal(DAYS) / 7
LEAST_WEEKS, ORDER_WEEKS = Decimal(4), Decimal(8)
# What is bought for trials and as a stand-in: days before the end of the history.
FOR_TRIALS = (
    ("BUT-CUP", 546),
    ("OIL-ALM", 546),
    ("WAX-BEW", 540),
    ("OIL-GRA", 530),
    ("HRB-COM", 500),
    ("GLY-VEG", 450),
    ("CLA-GRE", 440),
    ("COL-IRO", 430),
    ("WAX-RIC", 420),
    ("BUT-KOK", 400),
    ("EO-PAT", 360),
    ("MIN-ZNO", 350),
    ("OIL-EVE", 338),
    ("OIL-APR", 330),
    ("HRB-CHA", 324),
    ("OIL-HEM", 318),
    ("EO-LEM", 312),
    ("OIL-RAP", 300),
    ("EXT-PRO", 295),
    ("EO-FRA", 280),
    ("EO-GER", 260),
    ("WAX-BEE", 271),  # while Marl Ridge has no valid certificate
    ("OIL-ALM", 250),
    ("BUT-CUP", 200),
    ("OIL-RAS", 170),
    ("WAX-BEW", 120),
    ("EO-LEM", 60),
    ("OIL-HEM", 20),
    # What comes in on the last morning and waits in quarantine.
    ("OIL-OLI", 0),
    ("OIL-ARG", 0),
    ("WAX-CAN", 0),
    ("TIN-50", 0),
)


def weekly_needs() -> dict[str, Decimal]:
    """Grams or pieces of each bought item that an average week takes."""
    needs: dict[str, Decimal] = defaultdict(Decimal)
    for recipe in RECIPES:
        made_g = recipe.batches * Decimal(sum(recipe.sizes_g)) / len(recipe.sizes_g) / WEEKS
        for part in recipe.lines:
            needs[part.code] += made_g * Decimal(part.share) / 100
        packed = [sold for sold in SOLD if sold.bulk == recipe.code]
        for sold in packed:
            needs[sold.container] += made_g / len(packed) / sold.fill_g
    needs["CTN-12"] = Decimal(24)
    return {code: need for code, need in needs.items() if code not in BY_CODE}


NEEDS = weekly_needs()


def order_for_trials(book: Book) -> None:
    by_day: dict[int, list[tuple[str, int]]] = defaultdict(list)
    for code, before in FOR_TRIALS:
        by_day[before].append((code, 1))
    for before, rows in by_day.items():
        on = book.until - timedelta(days=before)
        if on > book.start:
            _place(book, rows, on)


def open_the_stores(book: Book) -> None:
    """The first order of all that is used, delivered the next day."""
    rows = [(code, _packs(book, code, need * ORDER_WEEKS)) for code, need in NEEDS.items()]
    rows += [(code, 1) for code in ("BUT-CUP", "OIL-ALM", "WAX-BEW")]
    _place(book, rows, book.start)


def order_the_week(book: Book) -> None:
    """On a Monday: order what would run out, to come within the week."""
    stocked = Item.objects.of_kind(ItemKind.MATERIAL, ItemKind.PACKAGING).with_on_hand()
    on_hand = {item.code: item.on_hand for item in stocked}
    rows = [
        (code, _packs(book, code, need * ORDER_WEEKS))
        for code, need in NEEDS.items()
        if on_hand[code] < need * LEAST_WEEKS
    ]
    _place(book, rows, book.day + timedelta(days=book.random.randint(1, 3)))


def _packs(book: Book, code: str, quantity: Decimal) -> int:
    packs = quantity / book.bought[code].quantity(1)
    return max(1, int(packs.to_integral_value(ROUND_CEILING)))


def _place(book: Book, rows: Sequence[tuple[str, int]], on: date) -> None:
    by_supplier: dict[str, list[tuple[str, int]]] = defaultdict(list)
    for code, packs in rows:
        by_supplier[book.bought[code].supplier].append((code, packs))
    for supplier, wanted in sorted(by_supplier.items()):
        book.orders.append(Order(on, supplier, tuple(wanted)))


def goods_in(book: Book, clock: Clock) -> None:
    """Take in whatever was ordered for today."""
    for order in [order for order in book.orders if order.on <= book.day]:
        book.orders.remove(order)
        spoilt = _spoilt_row(book, order)
        rows = [
            _arrived(book, code, packs, is_spoilt=row == spoilt)
            for row, (code, packs) in enumerate(_in_drums(book, order))
        ]
        receipt = receive(
            book.suppliers[order.supplier],
            rows,
            received_on=book.day,
            delivery_note=f"{order.supplier[:2].upper()}-{book.random.randint(10000, 99999)}",
            by=book.packer,
            at=clock.after(4, 8),
            token=book.token(),
            draw=book.draw,
        )
        _wait_for_the_owner(book, receipt)


def _in_drums(book: Book, order: Order) -> list[tuple[str, int]]:
    """Now and then a large delivery comes in two drums of different lots."""
    rows: list[tuple[str, int]] = []
    for code, packs in order.rows:
        if packs > 3 and book.chance(3):
            rows += [(code, packs // 2), (code, packs - packs // 2)]
        else:
            rows.append((code, packs))
    return rows


def _spoilt_row(book: Book, order: Order) -> int | None:
    """The row of the one oil that is sent back, once in the history."""
    if not book.may_happen("rejected receipt", Decimal("0.3")):
        return None
    usual = [code.startswith("OIL-") and code in NEEDS for code, _ in order.rows]
    oils = [row for row, is_usual in enumerate(usual) if is_usual]
    return oils[0] if oils else None


def _arrived(book: Book, code: str, packs: int, *, is_spoilt: bool) -> ArrivedLot:
    one = book.bought[code]
    item = book.items[code]
    quantity = one.quantity(packs)
    certificate = _certificate(book, code)
    months = one.material.shelf_life_months
    expiry = add_months(book.day, months) if months and not book.chance(4) else None
    note = "Smells rancid; seal unbroken. Set apart for the owner." if is_spoilt else ""
    warmest = one.material.max_arrival_c
    return ArrivedLot(
        item=item,
        supplier_lot=f"{code.partition('-')[2]}{book.day:%y%j}-{book.random.randint(1000, 9999)}",
        quantity=quantity,
        quantity_as_written=one.written(packs),
        makers_expiry=expiry and expiry - timedelta(days=book.random.randint(0, 20)),
        certificate=certificate,
        is_organic=certificate is not None,
        seal_is_good=True,
        smell_is_good=not is_spoilt,
        look_is_good=True,
        temperature_c=warmest - book.random.randint(4, 10) if warmest else None,
        checks_note=note or _no_certificate_note(book, code, certificate),
        cost=one.cost(quantity),
    )


def _certificate(book: Book, code: str) -> Certificate | None:
    one = book.bought[code]
    if not one.is_organic:
        return None
    held = Certificate.objects.valid_on(book.day).covering(book.items[code])
    return held.filter(supplier=book.suppliers[one.supplier]).first()


def _no_certificate_note(book: Book, code: str, certificate: Certificate | None) -> str:
    one = book.bought[code]
    if certificate or not one.is_organic:
        return ""
    if one.supplier == "Marl Ridge Apiary" or code in MINTS:
        return f"{one.supplier} had no valid certificate that day: taken in as not organic."
    return "No valid certificate at hand: taken in as not organic."


def _wait_for_the_owner(book: Book, receipt: Receipt) -> None:
    for line in receipt.lines.select_related("lot__item").order_by("pk"):
        book.arrived.append((book.in_days(1, 3), line.lot))
        _remember(book, receipt, line)


def _remember(book: Book, receipt: Receipt, line: ReceiptLine) -> None:
    if not line.smell_is_good and line.lot.item.kind == ItemKind.MATERIAL:
        book.note(
            "rejected receipt",
            f"lot {line.lot} of {line.lot.item}, rancid on arrival, receipt {receipt}",
        )
        book.rejected.append(line.lot)
    elif "no valid certificate" in line.checks_note and book.day > book.start:
        book.note(
            "certificate gap",
            f"lot {line.lot} of {line.lot.item} came without a valid certificate and was taken "
            f"in as not organic, receipt {receipt}",
        )
