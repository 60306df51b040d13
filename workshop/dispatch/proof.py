"""Proof of what the dispatch room keeps besides the ledger."""

from django.db.models import Count

from workshop.dispatch.models import DeliveryConfirmation, Dispatch
from workshop.ledger.proof.findings import Finding


def check_arrivals() -> Finding:
    """Never two words of one arrival stand: the next is kept only once the last is taken back."""
    finding = Finding(
        "of each dispatch at most one word of its arrival stands",
        DeliveryConfirmation.objects.count(),
    )
    standing = DeliveryConfirmation.objects.effective().order_by().values("dispatch")
    twice = standing.annotate(words=Count("pk")).filter(words__gt=1)
    wrong = Dispatch.objects.filter(pk__in=twice.values("dispatch")).select_related("operation")
    for dispatch in wrong.order_by("pk"):
        finding.add(f"{dispatch}: more than one word of its arrival stands.")
    return finding
