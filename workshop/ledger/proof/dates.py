"""The proof of the best-before dates: each follows from its shelf life and all that went in."""

from datetime import date

from workshop.core import formatting
from workshop.ledger.inherited_best_before import whole_tree
from workshop.ledger.models import Lot
from workshop.ledger.proof.findings import SHOWN, Finding
from workshop.rules.dates.inherited_dates import tree_dates
from workshop.rules.errors import RuleError

CHUNK = 2000


def check_dates() -> Finding:
    """Worked out anew for the whole tree, from what was bought to what was packed."""
    made = whole_tree()
    finding = Finding("every best-before date follows from what went in", len(made))
    if not made:
        return finding
    had = dict(Lot.objects.order_by().values_list("pk", "best_before").iterator(CHUNK))
    try:
        due = tree_dates(made, had)
    except RuleError as error:
        finding.add(str(error))
        return finding
    wrong = [pk for pk in sorted(due) if due[pk] != had[pk]]
    lots = Lot.objects.in_bulk(wrong[:SHOWN])
    for pk in wrong:
        name = lots.get(pk, f"number {pk}")
        said, follows = _said(had[pk]), _said(due[pk])
        finding.add(f"Lot {name} is dated {said}; what went into it gives {follows}.")
    return finding


def _said(day: date | None) -> str:
    return formatting.day(day) if day else "no limit"
