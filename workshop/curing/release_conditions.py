"""What a release of a soap needs besides: that it has dried and passed its tests."""

from workshop.curing.release_readiness import unmet
from workshop.ledger.models import OperationKind

CONDITIONS = {OperationKind.BATCH: unmet}
