"""The kettles and racks of a week: what was made last in each, and what room is left."""

from collections.abc import Mapping, Sequence
from decimal import Decimal

from django.db.models import Exists, Max, OuterRef, Q

from workshop.curing.release_readiness import cures_of
from workshop.formulas.models import Line
from workshop.kettle.models import Batch, Cleaning, Kettle
from workshop.ledger.models import ItemKind, Lot, Status
from workshop.materials.models import Constituency
from workshop.planning.models import Hours
from workshop.planning.week.jobs import DAYS, Frame
from workshop.rules.planning.week.tasks import Family, Vat


def vats(kettles: Sequence[Kettle]) -> list[Vat]:
    """Each kettle with what was made in it last, unless it was cleaned since; two queries."""
    weighed = Batch.objects.filter(kettle__in=kettles, operation__postings__isnull=False)
    newest = weighed.order_by().values("kettle").annotate(last=Max("pk")).values("last")
    fragrance = Line.objects.filter(
        version=OuterRef("version"), item__profile__kind=Constituency.FRAGRANCE
    )
    rows = Batch.objects.filter(pk__in=newest).select_related("version", "operation")
    last = {row.kettle_id: row for row in rows.annotate(is_scented=Exists(fragrance))}
    cleaned = dict(
        Cleaning.objects.filter(kettle__in=kettles)
        .order_by()
        .values("kettle")
        .annotate(last=Max("cleaned_at"))
        .values_list("kettle", "last")
    )
    return [Vat(one.pk, one.capacity_g, _family(one, last, cleaned)) for one in kettles]


def _family(one: Kettle, last: Mapping[int, Batch], cleaned: Mapping[int, object]) -> Family | None:
    batch = last.get(one.pk)
    washed: object = cleaned.get(one.pk)
    if batch is None or (washed is not None and washed >= batch.operation.opened_at):  # type: ignore[operator]
        return None
    return Family(batch.version.claims_organic, batch.is_scented)  # type: ignore[attr-defined]


def rack_room(frame: Frame, hours: Hours) -> list[Decimal] | None:
    """Grams of soap that the racks still take on each day; None where nobody set a limit.

    What cures now leaves its rack on the day it is ready.
    """
    if hours.racks_hold_g is None:
        return None
    room = [hours.racks_hold_g] * DAYS
    for lot, ready in curing(frame):
        for index in range(DAYS):
            if ready > index:
                room[index] -= lot.on_hand
    return [max(one, Decimal(0)) for one in room]


def curing(frame: Frame) -> list[tuple[Lot, int]]:
    """Soap on the racks, and on which day of the week (from its Monday) each is ready."""
    lots = list(
        Lot.objects.filter(
            item__kind=ItemKind.BULK,
            status__in=[Status.QUARANTINE, Status.ON_HOLD],
            origin__batch__version__cure_days__isnull=False,
        )
        .with_on_hand()
        .filter(Q(on_hand__gt=0))
        .select_related("item")
        .order_by("made_on", "pk")
    )
    if not lots:
        return []
    found = {cure.lot.pk: cure.ready for cure in cures_of(lots)}
    return [(lot, (ready - frame.monday).days) for lot in lots if (ready := found.get(lot.pk))]
