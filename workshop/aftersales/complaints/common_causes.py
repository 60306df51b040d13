"""What do they share? The input lots of complained batches, held against all other batches."""

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from django.db.models import Exists, OuterRef

from workshop.aftersales.models import ComplaintQuerySet
from workshop.core.errors import ActionRefused
from workshop.core.formatting import number
from workshop.goods_in.models import ReceiptLine
from workshop.ledger.lot_tree import links_back
from workshop.ledger.models import Item, ItemKind, Lot, LotQuerySet, OperationKind, Posting, Side
from workshop.rules.aftersales.commonality import Suspect, commonality, thin_data
from workshop.trace.lot.ancestry import lots_behind

MOST_LOTS = 20_000  # as many as one query may name on either database, with room to spare
MOST_SUSPECTS = 20


@dataclass(frozen=True)
class Shared:
    """One input lot with what chance says of it."""

    lot: Lot
    suspect: Suspect[int]
    act: OperationKind

    @property
    def sentence(self) -> str:
        return _named(self.suspect.sentence, self.act)

    @property
    def chance(self) -> str:
        return chance_words(self.suspect)

    @property
    def arrival(self) -> ReceiptLine | None:
        line: ReceiptLine | None = getattr(self.lot, "receipt_line", None)
        return line


@dataclass(frozen=True)
class Sharing:
    shared: list[Shared] = field(default_factory=list)
    complained: int = 0
    compared: int = 0
    looked_at: int = 0
    outside: int = 0
    unlinked: int = 0
    warnings: list[str] = field(default_factory=list)


def what_they_share(
    complaints: ComplaintQuerySet,
    *,
    first: date,
    last: date,
    act: OperationKind = OperationKind.BATCH,
    product: Item | None = None,
) -> Sharing:
    """Rank the lots behind the complained batches of a window; the count of queries is fixed.

    Raises ActionRefused when the window is too wide to compare.
    """
    lots_of = inputs_compared(first, last, act, product)
    named, unlinked = _complained(complaints, act)
    complained = named & set(lots_of)
    if not complained:
        return Sharing(compared=len(lots_of), outside=len(named), unlinked=unlinked)
    suspects = commonality(lots_of, complained)[:MOST_SUSPECTS]
    rows = Lot.objects.filter(pk__in=[suspect.lot for suspect in suspects]).select_related(
        "item", "origin", "receipt_line__receipt__supplier"
    )
    found = {lot.pk: lot for lot in rows}
    return Sharing(
        [Shared(found[suspect.lot], suspect, act) for suspect in suspects],
        len(complained),
        len(lots_of),
        len(frozenset().union(*lots_of.values())),
        len(named - complained),
        unlinked,
        [_named(why, act) for why in thin_data(len(complained), len(lots_of))],
    )


def inputs_compared(
    first: date, last: date, act: OperationKind, product: Item | None = None
) -> dict[int, set[int]]:
    """The input lots of each operation of the window that could be complained of.

    These are the batches of which something was packed; with `act` packing, the packing runs
    and what they took themselves, which finds a container at fault. With a product, only what
    was packed as it: else all that goes into nothing else stands out together.
    """
    compare = _batches_packed if act == OperationKind.BATCH else _packed
    made = compare(first, last, product)
    operation_of = dict(made.values_list("pk", "origin")[: MOST_LOTS + 1])
    if len(operation_of) > MOST_LOTS:
        raise ActionRefused(
            "That is too much to compare at once. Choose a shorter time.", field="first"
        )
    return _inputs(operation_of, deep=act == OperationKind.BATCH)


def _batches_packed(first: date, last: date, product: Item | None) -> LotQuerySet:
    packed = Posting.objects.effective().filter(
        lot=OuterRef("pk"), side=Side.IN, operation__kind=OperationKind.PACKING
    )
    if product:
        packed = packed.filter(operation__lots__item=product)
    made = Lot.objects.filter(origin__kind=OperationKind.BATCH, made_on__range=(first, last))
    return made.filter(Exists(packed)).order_by()


def _packed(first: date, last: date, product: Item | None) -> LotQuerySet:
    made = Lot.objects.filter(
        origin__kind=OperationKind.PACKING,
        item__kind=ItemKind.PRODUCT,
        made_on__range=(first, last),
    )
    return (made.filter(item=product) if product else made).order_by()


def _inputs(operation_of: dict[int, int], *, deep: bool) -> dict[int, set[int]]:
    """The lots that each operation used, at any depth or only those it took itself."""
    links = links_back(operation_of)
    lots_of: dict[int, set[int]] = {operation: set() for operation in operation_of.values()}
    if deep:
        behind = lots_behind(links)
        for lot, operation in operation_of.items():
            lots_of[operation] |= behind.get(lot, frozenset())
    else:
        for link in links:
            if link.operation_id in lots_of:
                lots_of[link.operation_id].add(link.source_id)
    return lots_of


def _complained(complaints: ComplaintQuerySet, act: OperationKind) -> tuple[set[int], int]:
    """The operations behind the lots complained of, and how many complaints name no lot."""
    lots_of: dict[int, set[int | None]] = defaultdict(set)
    for pk, lot in complaints.order_by().values_list("pk", "lots"):
        lots_of[pk].add(lot)
    unlinked = sum(lots == {None} for lots in lots_of.values())
    lots = {lot for found in lots_of.values() for lot in found if lot is not None}
    return _operations_behind(lots, act), unlinked


def _operations_behind(lots: Collection[int], act: OperationKind) -> set[int]:
    """The packing runs of finished lots; or the batches of what those took, and of bulk lots."""
    own = Lot.objects.filter(pk__in=lots, origin__kind=act).values_list("origin", flat=True)
    if act == OperationKind.PACKING:
        return set(own)
    packed_in = Lot.objects.filter(pk__in=lots, origin__kind=OperationKind.PACKING).values("origin")
    taken = Posting.objects.effective().filter(
        operation__in=packed_in, side=Side.IN, lot__origin__kind=OperationKind.BATCH
    )
    return set(own) | set(taken.values_list("lot__origin", flat=True))


def _named(sentence: str, act: OperationKind) -> str:
    if act == OperationKind.BATCH:
        return sentence
    return sentence.replace("batches", "packing runs").replace("batch", "packing run")


def chance_words(suspect: Suspect[int]) -> str:
    """The corrected chance as a person reads it."""
    percent = suspect.corrected * 100
    if percent * 10 < 1:
        return "below 0.1 %"
    return f"{number(Decimal(percent.numerator) / percent.denominator, most=1)} %"
