"""What the database refuses at the kettle, whoever asks."""

from workshop.core.database.triggers import Trigger, append_only, behind_closed

OF_BATCH = "(SELECT operation_id FROM kettle_batch WHERE id = {row}.batch_id)"
OF_LINE = (
    "(SELECT of.operation_id FROM kettle_batchline AS line JOIN kettle_batch AS of"
    " ON of.id = line.batch_id WHERE line.id = {row}.line_id)"
)

OVER = "('closed', 'abandoned')"
CLOSED_TOO_SOON = (
    "NEW.closed_at IS NOT NULL AND EXISTS (SELECT 1 FROM kettle_batch"
    " WHERE operation_id = NEW.id AND state NOT IN ('closed', 'abandoned'))"
)
CLOSED = "SELECT 1 FROM ledger_operation WHERE id = NEW.operation_id AND closed_at IS NOT NULL"

GUARDS = [
    Trigger(
        "kettle_weighing_in_its_batch",
        "kettle_weighing",
        "INSERT",
        "NOT EXISTS (SELECT 1 FROM kettle_batchline AS line"
        " JOIN kettle_batch AS batch ON batch.id = line.batch_id"
        " JOIN ledger_posting AS posting ON posting.operation_id = batch.operation_id"
        " WHERE line.id = NEW.line_id AND posting.id = NEW.posting_id AND posting.side = 'in')",
        "A weighing belongs to a line of the batch that took its lot in.",
    ),
    # A batch and its operation are closed in one transaction: first the state, then the seal.
    Trigger(
        "kettle_batch_over_when_closed",
        "ledger_operation",
        "UPDATE",
        CLOSED_TOO_SOON,
        "A batch is closed or stopped before its record is sealed.",
    ),
    Trigger(
        "kettle_batch_stays_over",
        "kettle_batch",
        "UPDATE",
        f"NEW.state NOT IN {OVER} AND EXISTS ({CLOSED})",
        "The record of this batch is sealed; an amendment opens it again.",
    ),
    Trigger(
        "kettle_batch_begins_open",
        "kettle_batch",
        "INSERT",
        f"NEW.state IN {OVER} OR EXISTS ({CLOSED})",
        "A batch begins with an open record.",
    ),
    *behind_closed("kettle_batch", "{row}.operation_id"),
    *behind_closed("kettle_batchline", OF_BATCH),
    *behind_closed("kettle_weighing", OF_LINE, "INSERT"),
    *behind_closed("kettle_targetchange", OF_LINE, "INSERT"),
    *behind_closed("kettle_check", OF_BATCH, "INSERT"),
    *behind_closed("kettle_photo", OF_BATCH, "INSERT"),
    *behind_closed("kettle_timer", OF_BATCH, "INSERT"),
    *append_only("kettle_cleaning"),
    *append_only("kettle_weighing"),
    *append_only("kettle_check"),
    *append_only("kettle_targetchange"),
    *append_only("kettle_photo"),
    Trigger(
        "kettle_timer_no_delete",
        "kettle_timer",
        "DELETE",
        "1 = 1",
        "Rows of kettle_timer are only ever added.",
    ),
    Trigger(
        "kettle_timer_ends_once",
        "kettle_timer",
        "UPDATE",
        "OLD.ended_at IS NOT NULL",
        "A timer that has ended stays as it is.",
    ),
]
