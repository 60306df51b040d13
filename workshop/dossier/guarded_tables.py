"""What the database refuses of the entries of product files, whoever asks."""

from workshop.core.database.triggers import append_only

GUARDS = [*append_only("dossier_entry")]
