"""What the database refuses in packing, whoever asks."""

from workshop.core.database.triggers import Trigger, append_only, behind_closed

GUARDS = [
    *behind_closed("packing_packingrun", "{row}.operation_id"),
    *append_only("packing_fillsample"),
    *append_only("packing_retained"),
    # Closing seals the weights, so none comes after it.
    Trigger(
        "packing_fillsample_into_closed",
        "packing_fillsample",
        "INSERT",
        "EXISTS (SELECT 1 FROM packing_packingrun AS run JOIN ledger_operation AS done"
        " ON done.id = run.operation_id WHERE run.id = NEW.run_id AND done.closed_at IS NOT NULL)",
        "This packing run is closed and sealed; no weight can be added to it.",
    ),
]
