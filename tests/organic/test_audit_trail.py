"""The five papers of a certifier's audit trail, each tied to the next by a lot number.

Source: a certifier's sample trail for handlers (read in the public copy that goes with its form):
A outgoing invoice, B batch record, C receiving log, D incoming papers, E inventory record of what
was bought and of what was finished. 7 CFR 205.103(b)(2): from purchase through production to sale.
"""

from collections import defaultdict
from decimal import Decimal
from typing import Any

import pytest

from tests.audit.whole_book import whole_book
from workshop.ledger.models import Lot, OperationKind, Posting
from workshop.organic.pack.audit_trail import HEADS, trail
from workshop.trace.lot.query import trace

pytestmark = pytest.mark.django_db


def lot_of(shown: object) -> Lot:
    return Lot.objects.get(code=str(shown).replace("-", ""))


def on_hand(lot: Lot) -> Decimal:
    """What came in and what went out of a lot, posting by posting."""
    return sum((row.quantity for row in lot.postings.all()), Decimal(0))


def test_papers_lead_from_the_tin_to_the_suppliers_note_by_lot_numbers() -> None:
    whole_book()
    tin = Lot.objects.get(origin__kind=OperationKind.PACKING)

    papers: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for row in trail(trace(tin)).rows:
        papers[str(row[0])[0]].append(dict(zip(HEADS, row, strict=True)))
    lots = {paper: {str(row["lot"]) for row in rows} for paper, rows in papers.items()}

    assert sorted(papers) == ["A", "B", "C", "D", "E"]
    assert lots["A"] == {str(tin)} < lots["B"]
    assert lots["D"] <= lots["C"]  # what was there before the book has no note
    assert lots["E"] == {str(tin)} | lots["C"]
    made = [lot_of(lot).origin_id for lot in lots["B"]]
    for lot in lots["C"]:
        assert Posting.objects.filter(operation__in=made, lot=lot_of(lot)).exists()
    for paper in papers["E"]:
        assert paper["g or pieces"] == on_hand(lot_of(paper["lot"]))
