"""A trace on paper."""

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Any

from workshop.core.models import User, Workshop
from workshop.core.paper.pdf import pdf
from workshop.trace.diagram.drawing import picture_of
from workshop.trace.lot.headline import headline
from workshop.trace.lot.query import last_change
from workshop.trace.lot.related_lots import siblings_of
from workshop.trace.lot.result import Trace
from workshop.trace.lot.under_way import under_way

MOST_PRINTED = 200  # rows of each list on paper; a table holds them all
SECTIONS: dict[str, tuple[Callable[[Trace], Sequence[Any]], str]] = {
    "bought": (lambda found: found.bought, "Purchased lots used for it"),
    "made-here": (lambda found: found.made_here, "Lots made here and used for it"),
    "went-into": (lambda found: found.products, "What was made from it"),
    "customers": (lambda found: found.sendings, "Who was sent some of it"),
}


def report_pdf(found: Trace, *, by: User, at: datetime) -> bytes:
    lists = {name.replace("-", "_"): rows(found) for name, (rows, _) in SECTIONS.items()}
    open_now = under_way(found)
    context: dict[str, Any] = {
        "trace": found,
        "lot": found.lot,
        "headline": headline(found, open_now),
        "under_way": open_now,
        "picture": picture_of(found),
        "change": last_change(found.lot),
        "lists": {name: rows[:MOST_PRINTED] for name, rows in lists.items()},
        "sizes": {name: len(rows) for name, rows in lists.items()},
        "siblings": siblings_of(found),
        "most": MOST_PRINTED,
        "is_paper": True,
        "workshop": Workshop.objects.first(),
        "by": by,
        "at": at,
    }
    return pdf("trace/print/trace_report.html", context)
