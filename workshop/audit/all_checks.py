"""All that a proof of the book looks at: the ledger's own checks, and those of the rooms."""

from workshop.audit.file_proof import check_files
from workshop.audit.master_data_proof import check_masters
from workshop.dispatch.proof import check_arrivals
from workshop.kettle.proof import check_batch_states
from workshop.ledger.proof import checks
from workshop.ledger.proof.dates import check_dates
from workshop.ledger.proof.findings import Finding
from workshop.packing.carried_losses import check_carried_losses

CHECKS = (
    *checks.CHECKS,
    check_dates,
    check_arrivals,
    check_batch_states,
    check_carried_losses,
    check_masters,
    check_files,
)


def prove() -> list[Finding]:
    return [check() for check in CHECKS]
