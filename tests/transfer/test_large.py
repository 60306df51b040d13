"""A large file comes in, and a large book leaves, with as little for each row as a small one."""

import gc
import tracemalloc
from collections.abc import Callable

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.transfer.test_sheets import DAY, MASTERS, STOCK_HEADS, taken, tried
from workshop.goods_in.models import Supplier
from workshop.transfer.archive.write import ROWS_AT_ONCE, archive
from workshop.transfer.spreadsheets.read import Sheet

pytestmark = pytest.mark.django_db


def stock_of(lots: int) -> Sheet:
    rows = [["Balm 60 g", "24", f"PB {lot}", "", "", DAY, "released"] for lot in range(lots)]
    return Sheet("Opening stock", [STOCK_HEADS, *rows])


def materials_of(number: int) -> Sheet:
    rows = [[f"Oil {one}", f"Oil {one} Seed Oil", "0,92"] for one in range(number)]
    return Sheet("Materials", [["Name", "INCI name", "Density, g/mL"], *rows])


def queries_of(sheet: Sheet) -> int:
    with CaptureQueriesContext(connection) as asked:
        assert tried(sheet).is_ready
    return len(asked)


@pytest.mark.parametrize(("make_sheet", "most"), [(stock_of, 12), (materials_of, 22)])
def test_each_further_row_asks_the_database_as_little(
    make_sheet: Callable[[int], Sheet], most: int
) -> None:
    """So ten thousand rows take a hundred times what a hundred do."""
    taken(*MASTERS)
    few, some, many = (queries_of(make_sheet(number)) for number in (10, 30, 90))

    assert some - few <= most * 20
    assert (many - some) / 60 <= (some - few) / 20 + 0.5  # no more for each than before


def peak_of_export() -> int:
    gc.collect()
    tracemalloc.start()
    try:
        for _piece in archive():
            pass
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


@pytest.mark.django_db(transaction=True)
def test_export_takes_as_much_memory_for_eight_times_the_rows() -> None:
    def suppliers(rows: int) -> None:
        Supplier.objects.bulk_create(
            Supplier(name=f"Supplier {rows} {one}", address="3 Quay, Ostrell " * 20)
            for one in range(rows)
        )

    suppliers(2 * ROWS_AT_ONCE)
    peak_of_export()  # what is made once
    small = peak_of_export()
    suppliers(14 * ROWS_AT_ONCE)

    assert peak_of_export() < 1.3 * small
