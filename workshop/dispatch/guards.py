"""What the database refuses in dispatch, whoever asks."""

from workshop.core.triggers import append_only

GUARDS = [*append_only("dispatch_arrival")]
