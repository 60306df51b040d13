"""What the database refuses of files handed in, whoever asks."""

from workshop.core.triggers import append_only

GUARDS = [*append_only("core_upload")]
