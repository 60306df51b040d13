"""What the database refuses of organic."""

from workshop.core.database.triggers import append_only

GUARDS = append_only("organic_pack")
