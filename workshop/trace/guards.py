"""What the database refuses of the logs of complaints and recalls, whoever asks."""

from workshop.core.triggers import append_only

GUARDS = [
    *append_only("trace_complaintevent"),
    *append_only("trace_recallentry"),
    *append_only("trace_recallline"),
]
