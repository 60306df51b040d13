"""What the database refuses of this room: what was taken in stays written down."""

from workshop.core.database.triggers import append_only

TABLES = ("sheetimport", "sheettakenback", "columnchoice")
GUARDS = [guard for name in TABLES for guard in append_only(f"transfer_{name}")]
