"""Which salves are complained of, so that what they share is one lot of oil and nothing else."""

from collections.abc import Collection, Iterable, Iterator, Mapping
from datetime import date, timedelta
from fractions import Fraction

from workshop.demo.story.story_state import Sent
from workshop.ledger.lot_tree import links_back
from workshop.ledger.models import ItemKind, Lot, OperationKind, Posting, Status
from workshop.rules.aftersales.commonality import commonality
from workshop.trace.lot.ancestry import lots_behind

SALVE, OILS = "MIN-60", "EO-"
A_YEAR, LEAST_IN_USE = timedelta(days=330), timedelta(days=6)
Inputs = Mapping[int, frozenset[int]]


def lots_with_one_oil(count: int, *, on: date) -> tuple[list[Sent], str]:
    """So many salves of as many batches and customers, and the lot of oil that explains them.

    The oil is the one that stands out furthest, as somebody will find who asks what they share.
    """
    salves = list(_sent(on))
    batch_of = _batches(salves)
    batches = Lot.objects.filter(item__kind=ItemKind.BULK)
    inputs = lots_behind(links_back(list(batches.values_list("pk", flat=True))))
    best: tuple[Fraction, Lot, list[Sent]] | None = None
    for oil in Lot.objects.filter(item__code__startswith=OILS).select_related("item"):
        with_it = [one for one in salves if oil.pk in inputs.get(batch_of[one.lot.pk], ())]
        chosen = _spread(list(_one_each(with_it, batch_of)), count)
        lead = _lead(oil.pk, inputs, {batch_of[one.lot.pk] for one in chosen})
        if len(chosen) == count and lead and (best is None or lead > best[0]):
            best = lead, oil, chosen
    if best is None:
        return [], ""
    return best[2], f"lot {best[1]} of {best[1].item}"


def _sent(on: date) -> Iterator[Sent]:
    """Every salve sent in the last year and in use since; a tin lasts for months."""
    rows = Posting.objects.effective().filter(
        operation__kind=OperationKind.DISPATCH,
        operation__dispatch__sent_on__range=(on - A_YEAR, on - LEAST_IN_USE),
        lot__item__code=SALVE,
        lot__status=Status.RELEASED,
    )
    for row in rows.select_related("operation__dispatch__customer", "lot__item").order_by("pk"):
        yield Sent(row.operation.dispatch, row.lot, row.moved)


def _batches(salves: Collection[Sent]) -> dict[int, int]:
    """The batch that each lot was filled from."""
    origins = {one.lot.pk: one.lot.origin_id for one in salves}
    links = links_back(origins)
    bulks = Lot.objects.filter(pk__in=[link.source_id for link in links], item__kind=ItemKind.BULK)
    known = set(bulks.values_list("pk", flat=True))
    return {
        link.product_id: link.source_id
        for link in links
        if origins.get(link.product_id) == link.operation_id and link.source_id in known
    }


def _one_each(salves: Iterable[Sent], batch_of: Mapping[int, int]) -> Iterator[Sent]:
    batches: set[int] = set()
    customers: set[int] = set()
    for one in sorted(salves, key=lambda one: (batch_of[one.lot.pk], one.dispatch.pk)):
        batch, customer = batch_of[one.lot.pk], one.dispatch.customer_id
        if batch not in batches and customer not in customers:
            batches.add(batch)
            customers.add(customer)
            yield one


def _spread(salves: list[Sent], count: int) -> list[Sent]:
    """The first, the last and some between: other lots are used up meanwhile."""
    if len(salves) <= count:
        return salves
    return [salves[place * (len(salves) - 1) // (count - 1)] for place in range(count)]


def _lead(oil: int, inputs: Inputs, batches: set[int]) -> Fraction | None:
    """How many times likelier by chance the next lot is, if the oil itself comes first."""
    if len(batches) < 2:
        return None
    first, *others = commonality(inputs, batches)
    second = others[0].chance if others else Fraction(1)
    return second / first.chance if first.lot == oil else None
