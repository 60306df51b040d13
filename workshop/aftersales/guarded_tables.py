"""What the database refuses of the logs of complaints and recalls, whoever asks."""

from workshop.core.database.triggers import append_only

GUARDS = [
    *append_only("aftersales_complaintevent"),
    *append_only("aftersales_recallentry"),
    *append_only("aftersales_recallline"),
]
