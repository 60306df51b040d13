"""What the database refuses of soap on its racks, whoever asks."""

from workshop.core.database.triggers import append_only

GUARDS = [
    *append_only("curing_rackplace"),
    *append_only("curing_standing"),
    *append_only("curing_cureweighing"),
    *append_only("curing_curetest"),
]
