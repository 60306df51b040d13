"""What can happen to labels: they are printed and counted, and the log keeps what they said."""

from workshop.labels.services.printing import (
    count_labels,
    log_print,
    note_print,
    print_labels,
    usual_layout,
)

__all__ = [
    "count_labels",
    "log_print",
    "note_print",
    "print_labels",
    "usual_layout",
]
