"""What the racks add to the ledger's rules for bulk that was poured here."""

from workshop.curing.release_readiness import unmet
from workshop.ledger.models import OperationKind

CONDITIONS = {OperationKind.BATCH: unmet}
