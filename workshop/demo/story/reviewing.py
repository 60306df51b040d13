"""Suppliers of organic goods are reviewed as the book begins, and once a year from then on."""

from datetime import timedelta

from workshop.demo.story.clock import Clock
from workshop.demo.story.story_state import Book
from workshop.demo.tables import people
from workshop.goods_in.models import Supplier, Verdict
from workshop.goods_in.services import review_supplier
from workshop.rules.organic.fraud_prevention import OF_SUPPLIER

# Its second review is still to be made on the last day; the first was not all that was asked for.
LEFT_UNDONE = "Low Fen Distillery"
OPEN = {"affidavit", "vulnerability"}
YEAR = timedelta(days=365)


def review_suppliers(book: Book, clock: Clock) -> None:
    """Write down the review of each supplier whose day has come."""
    for name in dict.fromkeys(held.supplier for held in people.CERTIFICATES):
        supplier = book.suppliers[name]
        last = supplier.reviews.last()
        if last is None or (last.next_review <= book.day and name != LEFT_UNDONE):
            _review(book, clock, supplier, is_first=last is None)


def _review(book: Book, clock: Clock, supplier: Supplier, *, is_first: bool) -> None:
    is_short = is_first and supplier.name == LEFT_UNDONE
    answers = {
        practice.key: {
            "is_done": not (is_short and practice.key in OPEN),
            "on": book.day.isoformat(),
            "evidence": "Questionnaire in the folder of the supplier",
        }
        for practice in OF_SUPPLIER
    }
    values = {
        "verdict": Verdict.CONDITIONAL if is_short else Verdict.APPROVED,
        "next_review": book.day + YEAR,
        "reason": "Its signed statement is still to come." if is_short else "All was answered.",
    }
    review_supplier(
        supplier,
        values,
        answers=answers,
        by=book.owner,
        at=clock.now,
        token=f"review {supplier.pk} {book.day}",
    )
