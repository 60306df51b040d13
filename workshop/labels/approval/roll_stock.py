"""What there is of printed rolls, by the label that they carry."""

from collections.abc import Collection

from workshop.labels.models import LabelVersion, Roll
from workshop.ledger.models import Lot


def rolls_of(versions: Collection[LabelVersion]) -> dict[int, list[Lot]]:
    """By label version the lots that carry it and are on hand: two queries for any number."""
    rows = Roll.objects.latest_of_each().filter(version__in=[one.pk for one in versions])
    carried = dict(rows.order_by("lot").values_list("lot", "version"))
    found: dict[int, list[Lot]] = {}
    for lot in Lot.objects.in_stock().filter(pk__in=carried).order_by("pk"):
        found.setdefault(carried[lot.pk], []).append(lot)
    return found
