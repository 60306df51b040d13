"""What the database refuses in packing, whoever asks."""

from workshop.core.triggers import append_only

GUARDS = [
    *append_only("packing_fillsample"),
    *append_only("packing_loss"),
    *append_only("packing_retained"),
]
