"""Ledgers of a realistic shape and any size, written straight into the product's own tables.

Each batch takes 6 to 12 lots and puts out one; 15 batches in a hundred use an in-house bulk, at
most six levels deep; every batch's lot goes out in one to three dispatches. Up to 40 bought lots
are open at a time, as it were one of each material: a lot is used up before the next is opened.
The services would take hours for millions of postings, so the rows are made here and loaded in
bulk, the guards away meanwhile; `check_ledger` finds nothing wrong but missing seals.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from random import Random
from typing import Any

from django.core.management.color import no_style
from django.db import connection, transaction

from workshop.core.database import triggers
from workshop.core.models import Role, User
from workshop.dispatch.models import Customer, Dispatch
from workshop.goods_in.models import Receipt, ReceiptLine, Supplier
from workshop.ledger.models import Item, ItemKind, Lot, Operation, Posting, Status, Unit

START = datetime(2024, 1, 2, 8, tzinfo=UTC)
DEEPEST = 6
OPEN = 40
POSTINGS_A_BATCH = 12.5  # ten in, one out, two sent: what one batch adds, about
CHUNK = 50_000


@dataclass
class Shape:
    """What was made: lots to ask about."""

    deep: list[int] = field(default_factory=list)
    finished: list[int] = field(default_factory=list)
    raw: list[int] = field(default_factory=list)
    postings: int = 0


@dataclass
class Tables:
    """Rows of one chunk, by table."""

    operations: list[tuple[Any, ...]] = field(default_factory=list)
    lots: list[tuple[Any, ...]] = field(default_factory=list)
    postings: list[tuple[Any, ...]] = field(default_factory=list)
    receipts: list[tuple[Any, ...]] = field(default_factory=list)
    receipt_lines: list[tuple[Any, ...]] = field(default_factory=list)
    dispatches: list[tuple[Any, ...]] = field(default_factory=list)


COLUMNS = {
    "operations": (
        "ledger_operation",
        "id, kind, reference, token, opened_at, opened_by_id",
    ),
    "lots": ("ledger_lot", "id, item_id, code, status, made_on, best_before, origin_id"),
    "postings": (
        "ledger_posting",
        "id, operation_id, lot_id, side, quantity, at, by_id, token, reason",
    ),
    "receipts": (
        "goods_in_receipt",
        "id, operation_id, supplier_id, received_on, delivery_note, note",
    ),
    "receipt_lines": (
        "goods_in_receiptline",
        "receipt_id, lot_id, posting_id, supplier_lot, quantity_as_written, is_organic,"
        " seal_is_good, smell_is_good, look_is_good, checks_note, scheme, operation_number,"
        " supplier_gtin",
    ),
    "dispatches": (
        "dispatch_dispatch",
        "operation_id, customer_id, customer_reference, sent_on, note",
    ),
}


class Maker:
    """Makes and loads the rows; ids are given here, since the tables begin empty."""

    def __init__(self, postings: int, *, popular_feeds: int, seed: int) -> None:
        self.chance = Random(seed)  # noqa: S311 -- a repeatable shape, no secret
        self.owner = User.objects.create(username=f"shape{seed}", role=Role.OWNER)
        self.raw_item, self.bulk = (
            Item.objects.create(code=f"{kind}-{seed}".upper(), name=kind, kind=kind, unit=Unit.GRAM)
            for kind in (ItemKind.MATERIAL, ItemKind.BULK)
        )
        self.supplier = Supplier.objects.create(name=f"Supplier {seed}")
        self.customers = [
            Customer.objects.create(name=f"Customer {seed}-{number}") for number in range(200)
        ]
        self.batches = max(1, round(postings / POSTINGS_A_BATCH))
        self.popular_feeds = popular_feeds
        raw_lots = max(12, self.batches * 9 // popular_feeds)
        self.open = min(OPEN, raw_lots)
        self.tables = Tables()
        self.shape = Shape()
        self.operation = self.lot = self.posting = 0
        self.depths: list[tuple[int, int]] = []
        self.uses_left: dict[int, int] = {}

    def run(self) -> Shape:
        for number in range(self.open):
            lot = self.receive(number)
            # The first ones are part used, or all of them would run out in the same week.
            self.uses_left[lot] = max(1, self.popular_feeds * (number + 1) // self.open)
        for number in range(self.batches):
            self.batch(number)
            if len(self.tables.postings) >= CHUNK:
                self.load()
        self.load()
        self.shape.postings = self.posting
        return self.shape

    def act(self, kind: str, day: int) -> tuple[int, datetime]:
        self.operation += 1
        at = START + timedelta(hours=day)
        row = (self.operation, kind, f"{kind[0]}{self.operation}", f"o{self.operation}", at)
        self.tables.operations.append((*row, self.owner.pk))
        return self.operation, at

    def new_lot(self, item: Item, origin: int, at: datetime) -> int:
        self.lot += 1
        code = f"L{self.lot:06}"[:7]
        row = (self.lot, item.pk, code, Status.RELEASED, at.date(), None, origin)
        self.tables.lots.append(row)
        return self.lot

    def post(self, operation: int, lot: int, side: str, thousandths: int, at: datetime) -> int:
        self.posting += 1
        row = (self.posting, operation, lot, side, thousandths, at, self.owner.pk)
        self.tables.postings.append((*row, f"p{self.posting}", ""))
        return self.posting

    def receive(self, number: int) -> int:
        operation, at = self.act("receipt", number)
        lot = self.new_lot(self.raw_item, operation, at)
        posting = self.post(operation, lot, "out", 10**9, at)
        self.tables.receipts.append((number + 1, operation, self.supplier.pk, at.date(), "", ""))
        self.tables.receipt_lines.append(
            (
                number + 1,
                lot,
                posting,
                f"S{number}",
                "1000 kg",
                False,
                True,
                True,
                True,
                "",
                "NOP",
                "",
                "",
            )
        )
        self.shape.raw.append(lot)
        return lot

    def use(self, lot: int) -> None:
        """Take from an open lot; the next one is opened when it is used up."""
        self.uses_left[lot] -= 1
        if not self.uses_left[lot]:
            del self.uses_left[lot]
            self.uses_left[self.receive(len(self.shape.raw))] = self.popular_feeds

    def batch(self, number: int) -> None:
        chosen = self.chance.sample(list(self.uses_left), self.chance.randint(6, 12))
        operation, at = self.act("batch", OPEN + number)
        depth = 1
        for lot in chosen:
            self.post(operation, lot, "in", -self.chance.randint(700_000, 900_000), at)
        if self.depths and self.chance.random() < 0.15:
            inner, below = self.chance.choice(self.depths[-500:])
            if below < DEEPEST:
                self.post(operation, inner, "in", -self.chance.randint(1_000, 90_000), at)
                depth = below + 1
        made = self.new_lot(self.bulk, operation, at)
        # No two weigh alike: costs by division are to be as odd as they are in use.
        self.post(operation, made, "out", 4_000_000 - number * 7_919 % 300_000, at)
        self.depths.append((made, depth))
        (self.shape.deep if depth >= DEEPEST - 1 else self.shape.finished).append(made)
        for _ in range(self.chance.randint(1, 3)):
            self.send(made, at)
        for lot in chosen:
            self.use(lot)

    def send(self, lot: int, at: datetime) -> None:
        operation, at = self.act("dispatch", OPEN + self.operation)
        self.post(operation, lot, "in", -100_000, at)
        customer = self.chance.choice(self.customers)
        self.tables.dispatches.append((operation, customer.pk, "", at.date(), ""))

    @transaction.atomic
    def load(self) -> None:
        for name, (table, columns) in COLUMNS.items():
            insert(table, columns, getattr(self.tables, name))
        self.tables = Tables()


def insert(table: str, columns: str, rows: Sequence[tuple[Any, ...]]) -> None:
    """COPY on PostgreSQL, executemany on SQLite."""
    if not rows:
        return
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            with cursor.copy(f"COPY {table} ({columns}) FROM STDIN") as copy:
                for row in rows:
                    copy.write_row(row)
            return
        marks = ", ".join(["%s"] * len(rows[0]))
        plain = [tuple(_plain(value) for value in row) for row in rows]
        cursor.executemany(f"INSERT INTO {table} ({columns}) VALUES ({marks})", plain)  # noqa: S608


def _plain(value: Any) -> Any:
    if isinstance(value, datetime):  # as the framework writes a moment
        return str(value.astimezone(UTC).replace(tzinfo=None))
    return str(value) if hasattr(value, "isoformat") else value


def fill(postings: int, *, popular_feeds: int = 300, seed: int = 1) -> Shape:
    """Fill an empty book with about `postings` postings; each raw lot feeds that many batches."""
    with unguarded():
        shape = Maker(postings, popular_feeds=popular_feeds, seed=seed).run()
    with connection.cursor() as cursor:
        for sql in sequences():
            cursor.execute(sql)
        cursor.execute("ANALYZE")
    return shape


@contextmanager
def unguarded() -> Iterator[None]:
    """Load rows that are right by their making: asking of each takes longer than writing it.

    SQLite waits for no disk meanwhile. A benchmark that is cut short begins anew.
    """
    waits = connection.vendor == "sqlite" and not connection.in_atomic_block
    triggers.remove(connection)
    if waits:
        _pragma("OFF")
    try:
        yield
    finally:
        triggers.install(connection)
        if waits:
            _pragma("NORMAL")


def _pragma(synchronous: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(f"PRAGMA synchronous={synchronous}")


def sequences() -> Iterator[str]:
    """What sets PostgreSQL's running numbers past the ids given here."""
    models = [Operation, Lot, Posting, Receipt, ReceiptLine, Dispatch]
    yield from connection.ops.sequence_reset_sql(no_style(), models)
