"""What a dispatch sent of each lot, and what of it has come back."""

from dataclasses import dataclass
from decimal import Decimal

from workshop.dispatch.models import Dispatch
from workshop.ledger.models import Lot, Posting


@dataclass(slots=True)
class SentLine:
    lot: Lot
    sent: Decimal = Decimal(0)
    back: Decimal = Decimal(0)

    @property
    def still_out(self) -> Decimal:
        return self.sent - self.back


def lines_of(dispatch: Dispatch) -> list[SentLine]:
    """One line a lot, in the order sent; a posting and its reversal add up to nothing."""
    lines: dict[int, SentLine] = {}
    # By the operations' keys: a condition with "or" across a join reads the whole ledger.
    came_back = dispatch.returns.order_by().values_list("operation", flat=True)
    postings = Posting.objects.filter(operation__in=[dispatch.operation_id, *came_back])
    if dispatch.taken_back_id:
        # What it said, for the page that says it was taken back.
        postings = postings.filter(corrects=None)
    for posting in postings.select_related("lot__item").order_by("pk"):
        line = lines.setdefault(posting.lot_id, SentLine(posting.lot))
        if posting.operation_id == dispatch.operation_id:
            line.sent -= posting.quantity
        else:
            line.back += posting.quantity
    return [line for line in lines.values() if line.sent or line.back]
