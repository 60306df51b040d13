"""How a line and a lot stand, in one plain query: a reading and its answer must not wait."""

from decimal import Decimal

from django.db import connection

from workshop.kettle.models import BatchLine
from workshop.ledger.models import Lot

STANDING = """
SELECT (SELECT -SUM(p.quantity) FROM kettle_weighing w JOIN ledger_posting p ON p.id = w.posting_id
        WHERE w.line_id = %s
        AND NOT EXISTS (SELECT 1 FROM ledger_posting r WHERE r.corrects_id = p.id)),
       (SELECT SUM(quantity) FROM ledger_posting WHERE lot_id = %s),
       c.now_g, c.least_g, c.most_g
FROM (SELECT 1 AS one) o LEFT JOIN
     (SELECT now_g, least_g, most_g FROM kettle_targetchange WHERE line_id = %s
      ORDER BY id DESC LIMIT 1) c ON 1 = 1
"""


def current_totals(line: BatchLine, lot: Lot) -> None:
    """Give the line what `with_taken` would give it, and the lot what `with_on_hand` would."""
    with connection.cursor() as cursor:
        cursor.execute(STANDING, [line.pk, lot.pk, line.pk])
        taken, held, now, least, most = map(_grams, cursor.fetchone())
    line.taken_g = taken or Decimal(0)
    line.aim_g = line.target_g if now is None else now
    line.least_g, line.most_g = least, most
    lot.on_hand = held or Decimal(0)


def apply_reading(line: BatchLine, lot: Lot, grams: Decimal) -> None:
    """What follows for both from one more reading."""
    line.taken_g += grams
    lot.on_hand -= grams


def _grams(thousandths: int | None) -> Decimal | None:
    return None if thousandths is None else Decimal(thousandths).scaleb(-3)
