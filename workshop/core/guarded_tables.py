"""What the database refuses of core's own two tables, whoever asks.

Each room has such a list; `core/database/triggers.py` says how they are set up.
"""

from workshop.core.database.triggers import append_only

GUARDS = [*append_only("core_sentform"), *append_only("core_upload")]
