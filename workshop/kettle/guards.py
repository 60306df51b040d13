"""What the database refuses at the kettle, whoever asks."""

from workshop.core.triggers import Trigger, append_only

GUARDS = [
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
