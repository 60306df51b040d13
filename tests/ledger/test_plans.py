"""The family tree is walked along indexes, never by reading the whole ledger."""

from collections.abc import Callable
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests import make
from workshop.ledger.lot_tree import links_back, links_both_ways, links_forward
from workshop.ledger.models import ItemKind, Lot, Operation, OperationKind, Posting, Side

pytestmark = pytest.mark.django_db


def many_batches(batches: int, inputs: int) -> tuple[Lot, Lot]:
    """A ledger of `batches` × (`inputs` + 1) postings; returns a popular lot and a product."""
    owner, material, bulk = make.user(), make.item(), make.item(ItemKind.BULK)
    raw = [make.lot(material, by=owner) for _ in range(20)]
    acts = Operation.objects.bulk_create(
        Operation(
            kind=OperationKind.BATCH,
            reference=f"B{n}",
            token=f"b{n}",
            opened_at=make.NOON,
            opened_by=owner,
        )
        for n in range(batches)
    )
    made = Lot.objects.bulk_create(
        Lot(item=bulk, code=f"T{n:06}", made_on=make.DAY, origin=act) for n, act in enumerate(acts)
    )
    rows = [
        Posting(
            operation=act,
            lot=raw[(n + k) % len(raw)],
            side=Side.IN,
            quantity=Decimal(-1),
            at=make.NOON,
            by=owner,
            token=f"i{n}.{k}",
        )
        for n, act in enumerate(acts)
        for k in range(inputs)
    ]
    rows += [
        Posting(
            operation=act,
            lot=lot,
            side=Side.OUT,
            quantity=Decimal(1),
            at=make.NOON,
            by=owner,
            token=f"o{act.pk}",
        )
        for act, lot in zip(acts, made, strict=True)
    ]
    Posting.objects.bulk_create(rows, batch_size=500)
    return raw[0], made[-1]


def plan_of(act: Callable[[], object]) -> str:
    with CaptureQueriesContext(connection) as caught:
        act()
    sql = caught[-1]["sql"]
    explain = "EXPLAIN QUERY PLAN " if connection.vendor == "sqlite" else "EXPLAIN "
    with connection.cursor() as cursor:
        cursor.execute(explain + sql.replace("%", "%%"))
        return "\n".join(str(row) for row in cursor.fetchall())


@pytest.mark.parametrize("is_measured", [True, False], ids=["analysed", "never analysed"])
@pytest.mark.parametrize("batches", [50, 1500])
def test_walk_reads_no_whole_table(batches: int, *, is_measured: bool) -> None:
    popular, product = many_batches(batches, inputs=8)
    if is_measured or connection.vendor == "postgresql":  # which measures by itself
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")

    for plan in (
        plan_of(lambda: links_back([product.pk])),
        plan_of(lambda: links_forward([popular.pk])),
        plan_of(lambda: links_both_ways(popular.pk)),
        plan_of(lambda: links_both_ways(product.pk)),
    ):
        if connection.vendor == "sqlite":
            # Before 3.51 SQLite fills a Bloom filter with the whole ledger unless told not to.
            assert "BLOOM" not in plan
            assert "SCAN made" not in plan
            assert "SCAN taken" not in plan
            # Nearly every posting corrects none, so that index would read nearly all of them.
            assert "made USING INDEX sqlite_autoindex" not in plan
            assert "taken USING INDEX sqlite_autoindex" not in plan
            # The indexes hold all that is asked for: no row of the table is read.
            assert "made USING COVERING INDEX posting_walk_from" in plan
            assert "taken USING COVERING INDEX posting_walk_from" in plan
            # What undoes a posting is sought among the few that do, not among all of them.
            assert "ledger_posting USING COVERING INDEX posting_undoing" in plan
            assert "ledger_posting USING COVERING INDEX sqlite_autoindex" not in plan
        elif batches > 1000:
            assert "Seq Scan on ledger_posting made" not in plan, plan
            assert "Seq Scan on ledger_posting taken" not in plan, plan


def test_standing_postings_of_an_operation_are_found_by_the_operation() -> None:
    _, product = many_batches(300, inputs=8)

    plan = Posting.objects.effective().filter(operation=product.origin_id).explain()

    if connection.vendor == "sqlite":  # PostgreSQL reads so small a table whole
        assert "posting_walk_from_operation" in plan
    assert Posting.objects.effective().filter(operation=product.origin_id).count() == 9
