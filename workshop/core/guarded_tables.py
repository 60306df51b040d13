"""What the database refuses in core, whoever asks."""

from workshop.core.database.triggers import append_only

GUARDS = [*append_only("core_sentform"), *append_only("core_upload")]
