"""Proof of what the kettle keeps beside the ledger."""

from django.db.models import Q

from workshop.kettle.models import Batch, BatchState
from workshop.ledger.proof.findings import Finding

OVER = (BatchState.CLOSED, BatchState.ABANDONED)


def check_batch_states() -> Finding:
    """A batch says that it is over exactly when its record is closed."""
    finding = Finding("a batch is over exactly when its record is closed", Batch.objects.count())
    is_over = Q(state__in=OVER)
    is_closed = Q(operation__closed_at__isnull=False)
    wrong = Batch.objects.filter((is_over & ~is_closed) | (~is_over & is_closed))
    for batch in wrong.select_related("operation").order_by("pk"):
        record = "closed" if batch.operation.is_closed else "open"
        finding.add(f"{batch} is {batch.get_state_display()}, and its record is {record}.")
    return finding
