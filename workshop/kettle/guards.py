"""What the database refuses at the kettle, whoever asks."""

from workshop.core.triggers import Trigger, append_only, behind_closed

OF_BATCH = "(SELECT operation_id FROM kettle_batch WHERE id = {row}.batch_id)"
OF_LINE = (
    "(SELECT of.operation_id FROM kettle_batchline AS line JOIN kettle_batch AS of"
    " ON of.id = line.batch_id WHERE line.id = {row}.line_id)"
)

GUARDS = [
    *behind_closed("kettle_batch", "{row}.operation_id"),
    *behind_closed("kettle_batchline", OF_BATCH),
    *behind_closed("kettle_weighing", OF_LINE, "INSERT"),
    *behind_closed("kettle_targetchange", OF_LINE, "INSERT"),
    *behind_closed("kettle_check", OF_BATCH, "INSERT"),
    *behind_closed("kettle_photo", OF_BATCH, "INSERT"),
    *behind_closed("kettle_timer", OF_BATCH, "INSERT"),
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
