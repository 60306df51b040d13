"""What data sheets say of the scented materials of the demonstration: their usual allergens."""

from collections.abc import Mapping
from datetime import datetime

from workshop.core.models import User
from workshop.ledger.models import Item
from workshop.materials.services.data_sheets import save_contents
from workshop.rules.allergens.certificate import read_certificate

# Within what monographs of these oils give, from memory. A supplier's own certificate wins.
SHEETS = {
    "EO-LAV": "Linalool 33 %, Linalyl acetate 36 %, beta-Caryophyllene 3.5 %, Geranyl acetate "
    "0.7 %, Limonene 0.4 %, Camphor 0.4 %, Geraniol 0.2 %, Coumarin 200 mg/kg",
    "EO-HEA": "d-Limonene 28 %, Linalyl acetate 21.6 %, Linalool 20.3 %, Citronellol 2.9 %, "
    "Geraniol 1.6 %, beta-Caryophyllene 2.2 %, Citral 0.1 %, Coumarin 120 mg/kg",
    "EO-CEA": "Limonene n.d., Linalool n.d.",
    "EO-BER": "d-Limonene 38 %, Linalyl acetate 30 %, Linalool 12 %, beta-Pinene 6 %, "
    "alpha-Pinene 1.3 %, Geranial 0.3 %, Neral 0.2 %",
    "EO-ORA": "d-Limonene 95 %, Linalool 0.4 %, Geranial 0.1 %, Neral 600 mg/kg",
    "EO-LEM": "d-Limonene 66 %, beta-Pinene 12 %, alpha-Pinene 2 %, Geranial 1.4 %, Neral 0.9 %, "
    "Linalool 0.1 %",
    "EO-GER": "Citronellol 29 %, Geraniol 16 %, Linalool 5 %, Citral 0.5 %",
    "EO-PAT": "beta-Caryophyllene 3.5 %, beta-Pinene 0.1 %",
    "EO-FRA": "alpha-Pinene 38 %, Limonene 12 %, beta-Caryophyllene 3 %",
    "EO-PEP": "Menthol 42 %, Limonene 2.2 %, beta-Caryophyllene 1.8 %, beta-Pinene 1 %, Linalool "
    "0.3 %",
    "EO-SPE": "l-Carvone 65 %, l-Limonene 16 %, beta-Caryophyllene 1 %, Linalool 0.1 %",
    "EO-EUC": "Limonene 6 %, alpha-Pinene 3 %, alpha-Terpineol 0.3 %",
    "EO-TEA": "alpha-Terpinene 9 %, Terpinolene 3.3 %, alpha-Terpineol 3 %, alpha-Pinene 2.5 %, "
    "Limonene 1 %",
    "CRY-MEN": "l-Menthol 99.5 %",
}
SOURCE = "supplier's data sheet, usual contents"


def enter_scents(items: Mapping[str, Item], *, by: User, at: datetime) -> None:
    """Enter each sheet as a certificate is read."""
    for code, sheet in SHEETS.items():
        read = read_certificate(sheet.replace(", ", "\n"))
        save_contents(items[code], read.percents, by=by, at=at, source=SOURCE)
