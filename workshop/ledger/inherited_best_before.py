"""Which best-before dates follow from the family tree, beside those that the lots have."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from datetime import date

from django.db.models import QuerySet

from workshop.ledger.lot_tree import Link, links_back
from workshop.ledger.models import TRANSFORMING, Lot, Posting, PostingQuerySet, Side
from workshop.ledger.release_conditions import all_rules
from workshop.rules.dates.inherited_dates import MadeLot, tree_dates

AT_ONCE = 500
CHUNK = 2000


def due_dates(
    lot_ids: Collection[int], *, links: Sequence[Link] | None = None
) -> dict[int, date | None]:
    """The date of each of these lots as it follows from everything behind it, at any depth.

    `links` are those back from them, where they were read already.
    """
    links = links_back(lot_ids) if links is None else links
    made = made_of({*lot_ids, *(link.product_id for link in links)})
    beside = dates_beside(made, lot_ids)
    known = {**beside, **tree_dates(made, beside)}
    return {pk: known[pk] for pk in lot_ids}


def made_of(lot_ids: Iterable[int]) -> dict[int, MadeLot]:
    """Those of these lots that a room made, with its own limit and what went in."""
    made: dict[int, MadeLot] = {}
    for some in _in_parts(lot_ids):
        lots = Lot.objects.filter(pk__in=some)
        made |= _made(lots, Posting.objects.filter(operation__in=lots.order_by().values("origin")))
    return made


def whole_tree() -> dict[int, MadeLot]:
    """Every lot of the book that a room made: one pass over its postings."""
    lots = Lot.objects.filter(origin__kind__in=TRANSFORMING)
    return _made(lots, Posting.objects.filter(operation__kind__in=TRANSFORMING))


def _made(lots: QuerySet[Lot], postings: PostingQuerySet) -> dict[int, MadeLot]:
    own: dict[int, date | None] = {}
    unbinding: dict[int, set[int]] = {}
    for rules in all_rules():
        theirs = lots.filter(origin__kind=rules.kind).order_by()
        own |= rules.own_dates(theirs)
        unbinding |= rules.unbinding(theirs)
    if not own:
        return {}
    taken, put_out = _sides(postings)
    rows = lots.order_by().values_list("pk", "made_on", "origin_id")
    # A run that was taken back put nothing out: its lot keeps the date it had.
    return {
        pk: MadeLot(made_on, own[pk], frozenset(taken[origin] - unbinding.get(pk, set())))
        for pk, made_on, origin in rows.iterator(CHUNK)
        if pk in own and pk in put_out[origin]
    }


def _sides(postings: PostingQuerySet) -> tuple[dict[int, set[int]], dict[int, set[int]]]:
    taken: dict[int, set[int]] = defaultdict(set)
    put_out: dict[int, set[int]] = defaultdict(set)
    rows = postings.effective().order_by().values_list("operation_id", "side", "lot_id")
    for operation, side, lot in rows.iterator(CHUNK):
        (taken if side == Side.IN else put_out)[operation].add(lot)
    return taken, put_out


def dates_beside(
    made: Mapping[int, MadeLot], lot_ids: Iterable[int] = ()
) -> dict[int, date | None]:
    """The dates, as they stand, of what went into `made` and is not worked out with it."""
    sources = {one for lot in made.values() for one in lot.sources} | set(lot_ids)
    found: dict[int, date | None] = {}
    for some in _in_parts(sources - made.keys()):
        found |= dict(Lot.objects.filter(pk__in=some).values_list("pk", "best_before"))
    return found


def _in_parts(lot_ids: Iterable[int]) -> Iterator[list[int]]:
    every = sorted(lot_ids)
    for start in range(0, len(every), AT_ONCE):
        yield every[start : start + AT_ONCE]
