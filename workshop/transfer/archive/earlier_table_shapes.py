"""Tables that an earlier version kept and this one has in another shape, and how they come over."""

from collections.abc import Callable, Iterable, Mapping

from workshop.ledger.models import Posting, Shed
from workshop.packing import carried_losses

Cells = Mapping[str, str]


def _losses(rows: Iterable[Cells]) -> None:
    losses = [(int(row["posting_id"]), row["kind"]) for row in rows]
    carried_losses.carry_over(losses, Posting.objects, Shed.objects)


FOLDED: dict[str, Callable[[Iterable[Cells]], None]] = {carried_losses.TABLE: _losses}
