"""What the database refuses of the history of master data: lines are only ever added."""

from workshop.core.database.sealing import historical_models
from workshop.core.database.triggers import append_only

GUARDS = [guard for model in historical_models() for guard in append_only(model._meta.db_table)]
