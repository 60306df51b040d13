"""The balance of an oil over half a year, added up again by plain SQL over the tables.

A delivery counts on its own day; what was put right later counts on the day that it is about: that
of what it takes back, or the day the record was first closed. Nothing of the rooms is used.
"""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal

from django.db import connection
from django.utils import timezone

# Each movement of the oil with its moment, in thousandths, and the formula that took it.
MOVED = """
SELECT o.kind, p.quantity, p.at, c.at, r.received_on,
    (SELECT MIN(s.at) FROM ledger_seal s WHERE s.operation_id = o.id),
    f.name, b.state
FROM ledger_posting p
JOIN ledger_lot l ON l.id = p.lot_id
JOIN ledger_item i ON i.id = l.item_id
JOIN ledger_operation o ON o.id = p.operation_id
LEFT JOIN ledger_posting c ON c.id = p.corrects_id
LEFT JOIN goods_in_receipt r ON r.operation_id = o.id
LEFT JOIN kettle_batch b ON b.operation_id = o.id
LEFT JOIN formulas_version v ON v.id = b.version_id
LEFT JOIN formulas_formula f ON f.id = v.formula_id
WHERE i.code = %s
"""
STOPPED = "stopped batches"


@dataclass
class OilBalance:
    """In grams; `used` by formula, `others` by kind of operation, minus where it went out."""

    opening: Decimal = Decimal(0)
    received: Decimal = Decimal(0)
    closing: Decimal = Decimal(0)
    used: dict[str, Decimal] = field(default_factory=lambda: defaultdict(Decimal))
    others: dict[str, Decimal] = field(default_factory=lambda: defaultdict(Decimal))


def oil_balance(code: str, first: date, last: date) -> OilBalance:
    begins, ends = _midnight(first), _midnight(last + timedelta(days=1))
    found = OilBalance()
    with connection.cursor() as cursor:
        cursor.execute(MOVED, [code])
        rows = cursor.fetchall()
    for kind, thousandths, at, corrected, received_on, sealed, formula, state in rows:
        grams = Decimal(thousandths).scaleb(-3)
        spoke = _moment(corrected) or _moment(at)
        moment = min(filter(None, (spoke, _moment(sealed))))
        if received_on:
            moment = _midnight(date.fromisoformat(str(received_on)))
        if moment >= ends:
            continue
        found.closing += grams
        if moment < begins:
            found.opening += grams
        elif kind == "receipt":
            found.received += grams
        elif kind == "batch":
            found.used[STOPPED if state == "abandoned" else formula] -= grams
        else:
            found.others[kind] += grams
    return found


def _midnight(day: date) -> datetime:
    return datetime.combine(day, time(), tzinfo=timezone.get_current_timezone())


def _moment(said: str | datetime | None) -> datetime | None:
    """As the database gives it: as text, or without its zone, which is UTC."""
    if said is None:
        return None
    read = datetime.fromisoformat(said) if isinstance(said, str) else said
    return read if read.tzinfo else read.replace(tzinfo=UTC)
