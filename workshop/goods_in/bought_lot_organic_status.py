"""Which bought lots are organic; of lots made here, `lot_composition.py` says what is in them.

A bought lot is what it was received as, or what an owner decided about it since: its status is
fixed when it comes in, by the certificate that held that day. A certificate that ends later takes
nothing back; a suspension or revocation is an act of its own, which stops new receipts and holds
lots until an owner has decided about each.
"""

from collections.abc import Callable, Iterable

from django.db.models import OuterRef, Q, Subquery

from workshop.goods_in.models import OrganicDecision
from workshop.ledger.models import Lot, LotQuerySet
from workshop.materials.models import LABEL_SCHEME

IsOrganic = Callable[[Lot], bool]


def organic_lots(lots: LotQuerySet, *, scheme: str = LABEL_SCHEME) -> LotQuerySet:
    """Those of `lots` that came from a supplier and are organic under the scheme."""
    last = OrganicDecision.objects.filter(lot=OuterRef("pk"), scheme=scheme).order_by("-pk")
    as_decided = lots.alias(decided_so=Subquery(last.values("is_organic")[:1]))
    came_so = Q(decided_so=None, receipt_line__is_organic=True, receipt_line__scheme=scheme)
    return as_decided.filter(came_so | Q(decided_so=True))


def organic_look_up(lots: Iterable[Lot], *, scheme: str = LABEL_SCHEME) -> IsOrganic:
    """A look-up of the same answer for many lots, made with one query.

    The lots bring their receipt line along.
    """
    bought = (lot for lot in lots if getattr(lot, "receipt_line", None))
    lines = {lot.pk: lot.receipt_line for lot in bought}
    decisions = OrganicDecision.objects.filter(lot__in=list(lines), scheme=scheme)
    decided = dict(decisions.order_by("pk").values_list("lot_id", "is_organic"))

    def is_organic(lot: Lot) -> bool:
        line = lines.get(lot.pk)
        came_so = line is not None and line.is_organic and line.scheme == scheme
        return decided.get(lot.pk, came_so)

    return is_organic
