"""Proof of the whole book: each check counts what it looked at and names what is wrong."""

from collections import defaultdict
from collections.abc import Callable
from decimal import Decimal
from typing import Any

from django.db import connection
from django.db.models import (
    Count,
    Exists,
    F,
    Max,
    Min,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Sum,
)

from workshop.core.database.triggers import differences, registry
from workshop.ledger.models import (
    BRINGING_IN,
    TRANSFORMING,
    DateChange,
    Lot,
    Operation,
    OperationKind,
    Posting,
    Shed,
    Side,
    StatusChange,
    Unit,
)
from workshop.ledger.proof.findings import SHOWN, Finding
from workshop.ledger.proof.seals import check_seals
from workshop.ledger.stock_queries import moved_by_lot, whole_ledger

CHUNK = 2000


def check_signs() -> Finding:
    """What an operation takes in lowers the lot, what it puts out raises it."""
    finding = Finding("every posting has the sign of its side", Posting.objects.count())
    original = Q(corrects=None)
    right = (
        (original & Q(side=Side.OUT, quantity__gt=0))
        | (original & Q(side=Side.IN, quantity__lt=0))
        | (~original & Q(side=Side.OUT, quantity__lt=0))
        | (~original & Q(side=Side.IN, quantity__gt=0))
    )
    for posting in Posting.objects.exclude(right).select_related("operation", "lot")[:SHOWN]:
        finding.add(f"{posting.operation}: posting {posting.pk} of {posting.lot} is {posting}.")
    return finding


def check_reversals() -> Finding:
    """Each reversal takes back one whole posting of the same lot in the same operation, once."""
    reversals = Posting.objects.filter(corrects__isnull=False)
    finding = Finding("each reversal takes back one posting whole, once", reversals.count())
    wrong = reversals.exclude(
        operation=F("corrects__operation"),
        lot=F("corrects__lot"),
        side=F("corrects__side"),
        corrects__corrects=None,
        quantity=-F("corrects__quantity"),
    )
    for posting in wrong.select_related("operation")[:SHOWN]:
        finding.add(f"{posting.operation}: posting {posting.pk} does not fit what it takes back.")
    twice = reversals.values("corrects").annotate(times=Count("pk")).filter(times__gt=1)
    for row in twice[:SHOWN]:
        finding.add(f"Posting {row['corrects']} was taken back {row['times']} times.")
    return finding


def check_sums() -> Finding:
    """Stock by lot, added up by the database, is what went out of operations less what went in."""
    finding = Finding("every lot adds up, to the milligram", Lot.objects.count())
    held, moved = whole_ledger(), moved_by_lot()
    if held == moved:
        return finding
    wrong = sorted(lot for lot, total in held.items() if moved.get(lot, 0) != total)
    lots = Lot.objects.in_bulk(wrong[:SHOWN])
    for pk in wrong:
        grams = (Decimal(one).scaleb(-3) for one in (held[pk], moved.get(pk, 0)))
        finding.add("Lot {} is said to hold {}; it adds up to {}.".format(lots.get(pk, pk), *grams))
    return finding


def check_yields() -> Finding:
    """No batch puts out more grams than went in, and no packing run packs air."""
    batches = Operation.objects.filter(kind=OperationKind.BATCH).order_by()
    finding = Finding("no batch puts out more than went in", batches.count())
    in_pieces = Lot.objects.exclude(item__unit=Unit.GRAM).order_by()
    grams = Posting.objects.filter(operation__in=batches).exclude(lot__in=in_pieces).order_by()
    gained = grams.values("operation").annotate(change=Sum("quantity")).filter(change__gt=0)
    # Their names are asked for afterwards: with them, every batch there is would be sorted.
    rows = dict(gained.order_by("operation_id").values_list("operation_id", "change"))
    named = Operation.objects.in_bulk(list(rows)[:SHOWN])
    for pk, change in rows.items():
        finding.add(f"{named.get(pk, pk)} put out {change} g more than went in.")
    return finding


def check_sheds() -> Finding:
    """What left was there: no batch sheds more than it did not put out, and a loss in store all."""
    finding = Finding("what left an operation had gone into it", Shed.objects.count())
    moved = Posting.objects.filter(operation=OuterRef("operation")).order_by()
    kept = moved.filter(lot__item__unit=Unit.GRAM).values("operation").annotate(g=Sum("quantity"))
    rows = Shed.objects.order_by("operation").values("operation__reference", "operation__kind")
    for row in rows.annotate(left=Sum("quantity"), change=Subquery(kept.values("g"))):
        rest = -(row["change"] or Decimal(0)) - row["left"]
        if rest < 0 or (rest and row["operation__kind"] == OperationKind.SHED):
            finding.add(
                f"{row['operation__reference']} is short of {-rest} g of what it says has left."
            )
    silent = Operation.objects.filter(kind=OperationKind.SHED, closed_at__isnull=False, sheds=None)
    for reference in silent.values_list("reference", flat=True)[:SHOWN]:
        finding.add(f"{reference} does not say what became of what it took.")
    wrong = Shed.objects.filter(corrects__isnull=False).exclude(
        operation=F("corrects__operation"),
        kind=F("corrects__kind"),
        corrects__corrects=None,
        quantity=-F("corrects__quantity"),
    )
    for shed in wrong.select_related("operation")[:SHOWN]:
        finding.add(f"{shed.operation}: what left ({shed}) does not fit what it takes back.")
    return finding


def check_origins() -> Finding:
    """Every lot has something put out by its origin, and nothing is made outside its origin."""
    finding = Finding("every output has an origin", Lot.objects.count())
    put_out = Posting.objects.filter(
        lot=OuterRef("pk"), operation=OuterRef("origin"), side=Side.OUT
    )
    used = Posting.objects.filter(lot=OuterRef("pk"))
    for lot in Lot.objects.filter(~Exists(put_out), Exists(used))[:SHOWN]:
        finding.add(f"Lot {lot} was used but never put out by its origin.")
    strays = (
        Posting.objects.filter(side=Side.OUT, operation__kind__in=[*TRANSFORMING, *BRINGING_IN])
        .exclude(lot__origin=F("operation"))
        .select_related("lot", "operation")
    )
    for posting in strays[:SHOWN]:
        finding.add(f"{posting.operation} put out lot {posting.lot}, which came from elsewhere.")
    return finding


def check_one_way() -> Finding:
    """Only what makes lots of others has both sides: the family tree relies on it."""
    finding = Finding("only a batch, a packing run and an unpacking both take lots and make one")
    others = Operation.objects.exclude(kind__in=TRANSFORMING)
    finding.looked_at = others.count()
    moved = Posting.objects.filter(operation=OuterRef("pk"))
    both = others.filter(Exists(moved.filter(side=Side.IN)), Exists(moved.filter(side=Side.OUT)))
    for operation in both.order_by("pk")[:SHOWN]:
        finding.add(f"{operation} both took lots and put some out.")
    return finding


def check_loops() -> Finding:
    """No lot is made from itself, at any depth."""
    finding = Finding("no lot is made from itself", Lot.objects.count())
    # Where nothing takes a lot that is younger than what it made, there is no way round; only a
    # batch that was put right afterwards does, and then the whole tree is looked at.
    if not _takes_younger().exists():
        return finding
    feeds, waiting = _graph()
    ready = [lot for lot, sources in waiting.items() if not sources]
    settled = 0
    while ready:
        lot = ready.pop()
        settled += 1
        for product in feeds.get(lot, ()):
            waiting[product] -= 1
            if not waiting[product]:
                ready.append(product)
    if settled < len(waiting):
        stuck = [lot for lot, sources in waiting.items() if sources]
        for code in Lot.objects.filter(pk__in=stuck[:SHOWN]).values_list("code", flat=True):
            finding.add(f"Lot {code} is made from itself, or from a lot that is.")
    return finding


def _takes_younger() -> QuerySet[Any, Any]:
    """Of every kind of operation: an index has their sides, and only others have but one."""
    youngest_in, oldest_out = (
        Max("lot_id", filter=Q(side=Side.IN)),
        Min("lot_id", filter=Q(side=Side.OUT)),
    )
    rows = Posting.objects.order_by().values("operation_id")
    return rows.annotate(taken=youngest_in, made=oldest_out).filter(taken__gte=F("made"))


def _graph() -> tuple[dict[int, set[int]], dict[int, int]]:
    """Which lots feed which, and from how many lots each is made."""
    taken, made = _sides(Side.IN), _sides(Side.OUT)
    feeds: dict[int, set[int]] = defaultdict(set)
    waiting: dict[int, int] = defaultdict(int)
    for operation, products in made.items():
        for product in products:
            waiting.setdefault(product, 0)
            for source in taken.get(operation, ()):
                waiting.setdefault(source, 0)
                if product not in feeds[source]:
                    feeds[source].add(product)
                    waiting[product] += 1
    return feeds, waiting


def _sides(side: Side) -> dict[int, set[int]]:
    rows = (
        Posting.objects.effective()
        .filter(operation__kind__in=TRANSFORMING, side=side)
        .order_by()
        .values_list("operation_id", "lot_id")
    )
    found: dict[int, set[int]] = defaultdict(set)
    for operation, lot in rows.iterator(CHUNK):
        found[operation].add(lot)
    return found


def check_statuses() -> Finding:
    """A lot's status is the last one that somebody gave it."""
    finding = Finding("every lot has the status that it was last given", Lot.objects.count())
    last = StatusChange.objects.filter(lot=OuterRef("pk")).order_by("-pk").values("now")[:1]
    for lot in Lot.objects.annotate(given=Subquery(last)).exclude(status=F("given"))[:SHOWN]:
        finding.add(f"Lot {lot} is {lot.status} without anybody's word for it.")
    for lot in Lot.objects.filter(status_changes=None)[:SHOWN]:
        finding.add(f"Lot {lot} has a status that nobody gave it.")
    return finding


def check_dates() -> Finding:
    """A lot's date is the one it was made with, or the last one that somebody gave it."""
    finding = Finding("every lot has the date that it was last given", DateChange.objects.count())
    last = DateChange.objects.filter(lot=OuterRef("pk")).order_by("-pk")
    lots = Lot.objects.filter(date_changes__isnull=False).distinct()
    given = lots.annotate(given=Subquery(last.values("now")[:1]))
    wrong = given.exclude(best_before=F("given")).exclude(best_before=None, given=None)
    for lot in wrong.order_by("pk")[:SHOWN]:
        finding.add(f"Lot {lot} has a best-before date without anybody's word for it.")
    return finding


def check_guards() -> Finding:
    """The database still refuses what it must refuse."""
    finding = Finding("the database's own guards are in place", len(registry()))
    for sentence in differences(connection):
        finding.add(sentence)
    return finding


CHECKS: tuple[Callable[[], Finding], ...] = (
    check_guards,
    check_signs,
    check_reversals,
    check_sums,
    check_yields,
    check_sheds,
    check_origins,
    check_one_way,
    check_loops,
    check_statuses,
    check_dates,
    check_seals,
)


def run_checks() -> list[Finding]:
    return [check() for check in CHECKS]
