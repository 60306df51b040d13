"""What data sheets say of the scented materials of the demonstration: their usual allergens."""

from collections.abc import Mapping
from datetime import datetime

from workshop.core.models import User
from workshop.demo.tables.folder import rows_of
from workshop.ledger.models import Item
from workshop.materials.services.data_sheets import save_contents
from workshop.rules.allergens.certificate import read_certificate

# Within what monographs of these oils give, from memory. A supplier's own certificate wins.
SHEETS = {row["code"]: row["contents"] for row in rows_of("data_sheets.csv")}
SOURCE = "supplier's data sheet, usual contents"


def enter_scents(items: Mapping[str, Item], *, by: User, at: datetime) -> None:
    """Enter each sheet as a certificate is read."""
    for code, sheet in SHEETS.items():
        read = read_certificate(sheet.replace(", ", "\n"))
        save_contents(items[code], read.percents, by=by, at=at, source=SOURCE)
