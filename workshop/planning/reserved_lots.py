"""Which lots are kept for which planned batch of a week; `ledger/reserved_lots.py` asks here."""

from collections.abc import Collection, Iterator

from workshop.kettle.models import BatchState
from workshop.ledger.reserved_lots import Kept
from workshop.planning.models import Reservation


def kept_of(lots: Collection[int]) -> Iterator[Kept]:
    """What of these lots is reserved for a batch that was not begun; one query."""
    rows = Reservation.objects.filter(lot__in=lots, planned__batch__state=BatchState.PLANNED)
    for row in rows.select_related("planned__batch__operation").order_by("pk"):
        yield Kept(row.lot_id, row.planned.batch.operation.reference, row.quantity)
