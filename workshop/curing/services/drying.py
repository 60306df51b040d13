"""What can happen to soap on its racks: it is put there, weighed, trimmed, tested."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from fractions import Fraction

from django.db import transaction
from django.utils import timezone

from workshop.core.errors import ActionRefused
from workshop.core.formatting import day, with_unit
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.core.saving.new_tokens import derive_key
from workshop.curing.models import CureTest, CureTestKind, CureWeighing, Rack, Standing, WeighedAs
from workshop.curing.release_readiness import Cure, cure_of
from workshop.curing.services.racks import place_of
from workshop.goods_in.lot_composition import composition_of
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, Operation, Shed, ShedKind, Side
from workshop.rules.quantities.units import round_to

MILLIGRAM = Decimal("0.001")


def _curing(lot: Lot) -> Cure:
    cure = cure_of(lot)
    if cure is None:
        raise ActionRefused(f"Lot {lot} was not poured here, so it does not stand on a rack.")
    return cure


@transaction.atomic
def put_on_rack(
    lot: Lot,
    rack: Rack,
    *,
    place: str = "",
    bars: int | None = None,
    by: User,
    at: datetime,
    token: str,
) -> Standing:
    """Say where a poured lot stands, and in how many bars; put elsewhere, it is said again."""
    check_idempotency(token, "rack", lot=lot, rack=rack, place=place, bars=bars)
    known = Standing.objects.filter(token=token).first()
    if known:
        return known
    _curing(lot)
    if not rack.is_active:
        raise ActionRefused(f"{rack} is out of use. Choose another rack.", field="rack")
    found = place_of(rack, by=by, at=at)
    ledger.put_in_place([lot], found, spot=place, by=by, at=at, token=derive_key(token, "place"))
    return Standing.objects.create(
        lot=lot, rack=rack, place=place.strip(), bars=bars, by=by, at=at, token=token
    )


@dataclass(frozen=True)
class RoundRow:
    """What one lot weighed on a round."""

    lot: Lot
    kind: WeighedAs
    weight_g: Decimal


@transaction.atomic
def weigh_round(
    rows: Iterable[RoundRow], *, by: User, at: datetime, token: str
) -> list[CureWeighing]:
    """Weigh several lots at one go: all of it is recorded, or nothing.

    What a lot lost since it was weighed before is shed as dried off. Raises ActionRefused with
    the field `weight-` and the lot's key.
    """
    rows = list(rows)
    content = [(row.lot.pk, str(row.kind), row.weight_g) for row in rows]
    check_idempotency(token, "round", rows=content)
    found = []
    for row in rows:
        own = derive_key(token, row.lot.pk)
        try:
            found.append(_weigh(row, by=by, at=at, token=own))
        except ActionRefused as error:
            raise ActionRefused(error.message, field=f"weight-{row.lot.pk}") from error
    return found


def _weigh(row: RoundRow, *, by: User, at: datetime, token: str) -> CureWeighing:
    known = CureWeighing.objects.filter(token=token).first()
    if known:
        return known
    lot = Lot.objects.select_for_update(of=("self",)).select_related("item").get(pk=row.lot.pk)
    cure, held = _curing(lot), ledger.on_hand(lot)
    if not row.weight_g.is_finite() or row.weight_g <= 0:
        raise ActionRefused("What stands on the rack weighs more than nothing.")
    if cure.weighings and cure.weighings[-1].kind != row.kind:
        raise ActionRefused(
            f"Lot {lot} was weighed by {cure.weighings[-1].get_kind_display()} before; go on so, "
            "or the two cannot be compared."
        )
    before = held if row.kind == WeighedAs.TRAY else cure.last_g
    dried = Decimal(0)
    if before is not None:
        _refuse_heavier(lot, row.weight_g, before)
        dried = round_to(
            Fraction(held) * (1 - Fraction(row.weight_g) / Fraction(before)), MILLIGRAM
        )
        _refuse_more_than_water(cure, dried)
    operation = (
        ledger.shed_in_store(lot, ShedKind.DRIED, dried, by=by, at=at, token=token)
        if dried
        else None
    )
    return CureWeighing.objects.create(
        lot=lot,
        kind=row.kind,
        before_g=before,
        weight_g=row.weight_g,
        operation=operation,
        by=by,
        at=at,
        token=token,
    )


def _refuse_heavier(lot: Lot, weight_g: Decimal, before_g: Decimal) -> None:
    if weight_g > before_g:
        raise ActionRefused(
            f"Lot {lot} weighed {with_unit(before_g, 'g')} before, and a soap on the rack does not "
            f"grow to {with_unit(weight_g, 'g')}. Weigh it again; if the figure before was wrong, "
            "take it back first."
        )


def _refuse_more_than_water(cure: Cure, dried_g: Decimal) -> None:
    """What dries off is water: a loss beyond all of it is an error."""
    try:
        shares = composition_of(cure.lot)
    except ActionRefused:
        return
    water = sum((share for part, share in shares.items() if part.kind == "water"), Fraction())
    poured = cure.lot.postings.filter(operation=cure.lot.origin, side=Side.OUT)
    made = sum((row.quantity for row in poured), Decimal(0))
    before = Shed.objects.filter(lot=cure.lot, kind=ShedKind.DRIED).grams()
    most = water * Fraction(made)
    if water and Fraction(before + dried_g) > most:
        raise ActionRefused(
            f"Lot {cure.lot} would have lost {with_unit(before + dried_g, 'g')}, more than the "
            f"{with_unit(round_to(most, Decimal('0.1')), 'g')} of water in it. Weigh it again."
        )


@transaction.atomic
def take_weighing_back(
    weighing: CureWeighing, *, reason: str, by: User, at: datetime, token: str
) -> CureWeighing:
    """Take the last weighing of a lot back, with what it said had dried off; an owner does it."""
    check_idempotency(token, "cure weighing back", weighing=weighing, reason=reason)
    known = CureWeighing.objects.filter(token=token).first()
    if known:
        return known
    if not reason.strip():
        raise ActionRefused("Say why this is taken back.", field="reason")
    last = CureWeighing.objects.effective().filter(lot=weighing.lot).last()
    if last != weighing:
        raise ActionRefused("Only the last weighing of a lot is taken back.")
    if weighing.operation:
        _undo(weighing.operation, reason=reason, by=by, at=at)
    return CureWeighing.objects.create(
        lot=weighing.lot,
        kind=weighing.kind,
        before_g=weighing.before_g,
        weight_g=weighing.weight_g,
        by=by,
        at=at,
        token=token,
        corrects=weighing,
        reason=reason.strip(),
    )


def _undo(operation: Operation, *, reason: str, by: User, at: datetime) -> None:
    ledger.begin_amendment(operation, by=by, at=at, reason=reason)
    ledger.reverse_all(list(operation.postings.effective()), by=by, at=at, reason=reason)
    for row in operation.sheds.effective():
        ledger.take_shed_back(row, by=by, at=at, reason=reason)
    ledger.close_operation(operation, by=by, at=at)


@transaction.atomic
def lose(
    lot: Lot, kind: ShedKind, grams: Decimal, *, note: str = "", by: User, at: datetime, token: str
) -> Operation:
    """Bars are trimmed, or some of the lot is taken as a sample or spilled."""
    if kind not in LOSSES:
        raise ActionRefused("On a rack soap is trimmed, sampled or spilled.", field="kind")
    _curing(lot)
    return ledger.shed_in_store(lot, kind, grams, by=by, at=at, token=token, reason=note)


LOSSES = (ShedKind.TRIMMED, ShedKind.SAMPLED, ShedKind.SPILLED)


@transaction.atomic
def add_test(
    lot: Lot,
    kind: CureTestKind,
    value: Decimal,
    *,
    method: str,
    note: str = "",
    by: User,
    at: datetime,
    token: str,
) -> CureTest:
    """Record a test with its method, beside the limit of the formula; the last of a kind counts."""
    check_idempotency(token, "cure test", lot=lot, kind=str(kind), value=value, method=method)
    known = CureTest.objects.filter(token=token).first()
    if known:
        return known
    version = _curing(lot).version
    limits = {
        CureTestKind.PH: (version.ph_least, version.ph_most),
        CureTestKind.FREE_ALKALI: (None, version.free_alkali_most),
    }
    least, most = limits[kind]
    return CureTest.objects.create(
        lot=lot,
        kind=kind,
        method=method.strip(),
        value=value,
        least=least,
        most=most,
        is_within=(least is None or value >= least) and (most is None or value <= most),
        note=note.strip(),
        by=by,
        at=at,
        token=token,
    )


def said_of(weighing: CureWeighing) -> str:
    """What a weighing wrote, in a sentence."""
    lost = weighing.operation.sheds.grams() if weighing.operation else Decimal(0)
    on = day(timezone.localdate(weighing.at))
    return f"Lot {weighing.lot}: {with_unit(lost, 'g')} dried off by {on}."
