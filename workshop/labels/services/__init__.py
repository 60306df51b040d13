"""Acts upon labels: print them and count what was used; why one is refused is in `printing`."""

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
