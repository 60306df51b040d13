"""How far lots on the racks have come: what they lost, what is likely, what a release lacks."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from fractions import Fraction

from django.db.models import Exists, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce
from django.utils import timezone

from workshop.core.formatting import THIN, day, number, percent, with_unit
from workshop.curing.models import CureTest, CureTestKind, CureWeighing, Standing, WeighedAs
from workshop.formulas.models import Version
from workshop.kettle.soap_readiness import batch_of
from workshop.ledger.models import ItemKind, Lot, OperationKind, Placing, Status
from workshop.ledger.stock_queries import places_of
from workshop.rules.dates.calendar_days import ready_on
from workshop.rules.quantities.units import floor_to
from workshop.rules.soap.cure import Weighed, forecast, week_loss

TENTH = Decimal("0.1")
ROUND = timedelta(days=7)  # from one weighing to the next; common practice, no source
HUNDREDTH = Decimal("0.01")


@dataclass(frozen=True)
class Cure:
    """One lot that cures, with all that is written of it."""

    lot: Lot
    version: Version
    standing: Standing | None = None
    # Where somebody put it last; before racks were places, only the standing says.
    placing: Placing | None = None
    weighings: list[CureWeighing] = field(default_factory=list)
    tests: dict[str, CureTest] = field(default_factory=dict)

    @property
    def where(self) -> str:
        """Where it is now: on its rack, unless it was put elsewhere since."""
        last = self.placing or self.standing
        return str(last) if last else ""

    @property
    def ready(self) -> date | None:
        days = self.version.cure_days
        return ready_on(self.lot.made_on, days) if days else None

    @property
    def points(self) -> list[Weighed]:
        """What was left of what was poured, by each weighing."""
        left, points = Fraction(1), []
        for row in self.weighings:
            if row.before_g:
                left *= Fraction(row.weight_g) / Fraction(row.before_g)
            points.append(Weighed(timezone.localdate(row.at), left))
        return points

    @property
    def is_weighed_by_bar(self) -> bool:
        return bool(self.weighings) and self.weighings[-1].kind == WeighedAs.BAR

    @property
    def last_g(self) -> Decimal | None:
        return self.weighings[-1].weight_g if self.weighings else None

    @property
    def bar_g(self) -> Decimal | None:
        """What a bar of it weighs now: the sample bar, or all of it by its number of bars."""
        if self.is_weighed_by_bar:
            return self.last_g
        bars = self.standing.bars if self.standing else None
        return floor_to(Fraction(self.lot.on_hand) / bars, TENTH) if bars else None

    @property
    def week_loss(self) -> Fraction | None:
        return week_loss(self.points)

    @property
    def week_loss_text(self) -> str:
        return percent(self.week_loss, 2) if self.week_loss is not None else "–"

    @property
    def lost_text(self) -> str:
        """What it lost in all since the pour."""
        return percent(1 - self.points[-1].left, 2) if self.points else "–"

    @property
    def expected_loss(self) -> Fraction | None:
        loss = self.version.cure_loss
        return None if loss is None else Fraction(loss) / 100

    @property
    def forecast(self) -> Fraction | None:
        """What is likely to be left on the day it is ready."""
        if self.ready is None:
            return None
        return forecast(self.points, self.ready, expected_loss=self.expected_loss)

    @property
    def bar_forecast_g(self) -> Decimal | None:
        """What a bar is likely to weigh at sale, rounded down: no label may promise more."""
        found, bar = self.forecast, self.bar_g
        if found is None or bar is None:
            return None
        now = self.points[-1].left if self.points else Fraction(1)
        return floor_to(Fraction(bar) * found / now, TENTH)

    def unmet(self, on: date) -> list[str]:
        """Why it may not be released or packed on a day, each in a sentence."""
        return [*self._too_early(on), *self._untested(), *self._still_drying()]

    def _too_early(self, on: date) -> Iterable[str]:
        if self.ready and on < self.ready:
            yield (
                f"Lot {self.lot} cures until {day(self.ready)}; from that day on it can be "
                "released and packed."
            )

    def _untested(self) -> Iterable[str]:
        limited = {
            CureTestKind.PH: (self.version.ph_least, self.version.ph_most),
            CureTestKind.FREE_ALKALI: (None, self.version.free_alkali_most),
        }
        for kind, limits in limited.items():
            if limits == (None, None):
                continue
            test = self.tests.get(kind)
            if test is None:
                yield f"Lot {self.lot} was not tested: {kind.label}."
            elif not test.is_within:
                yield (
                    f"Lot {self.lot} failed its test: {kind.label} is "
                    f"{number(test.value, most=4)}, outside its limits."
                )

    def _still_drying(self) -> Iterable[str]:
        most = self.version.weekly_loss_most
        if most is None or self.ready is None:
            return
        loss = self.week_loss
        if loss is None:
            yield f"Lot {self.lot} was not weighed on its rack at least twice, a week apart."
        elif loss * 100 > Fraction(most):
            yield (
                f"Lot {self.lot} still loses {percent(loss, 2)} a week; the formula allows "
                f"{number(most)}{THIN}%."
            )


def cures_of(lots: Iterable[Lot]) -> list[Cure]:
    """How far each of these lots has come; a lot that was not poured here is left out.

    The number of queries does not depend on how many there are.
    """
    keys = [lot.pk for lot in lots]
    rows = Lot.objects.with_on_hand().filter(pk__in=keys, origin__batch__isnull=False)
    found = list(rows.select_related("item", "origin__batch__version__formula").order_by("pk"))
    standings = {
        row.lot_id: row
        for row in Standing.objects.filter(lot__in=keys).select_related("rack", "by")
    }
    placings = places_of(keys)
    weighings: dict[int, list[CureWeighing]] = defaultdict(list)
    for row in CureWeighing.objects.effective().filter(lot__in=keys).select_related("by"):
        weighings[row.lot_id].append(row)
    tests: dict[int, dict[str, CureTest]] = defaultdict(dict)
    for test in CureTest.objects.filter(lot__in=keys).select_related("by"):
        tests[test.lot_id][test.kind] = test
    return [
        Cure(
            lot,
            lot.origin.batch.version,
            standings.get(lot.pk),
            placings.get(lot.pk),
            weighings[lot.pk],
            tests[lot.pk],
        )
        for lot in found
    ]


def cure_of(lot: Lot) -> Cure | None:
    return next(iter(cures_of([lot])), None)


def on_racks() -> list[Cure]:
    """Every lot that cures and of which something is left, those ready first at the top."""
    stands = Standing.objects.filter(lot=OuterRef("pk"))
    lots = Lot.objects.filter(
        Q(origin__batch__version__cure_days__gt=0) | Exists(stands),
        item__kind=ItemKind.BULK,
        origin__kind=OperationKind.BATCH,
    ).exclude(status=Status.REJECTED)
    left = [cure for cure in cures_of(lots) if cure.lot.on_hand > 0]
    return sorted(left, key=lambda cure: (cure.ready or cure.lot.made_on, cure.lot.pk))


def due_on_racks(today: date) -> QuerySet[Lot]:
    """Soap not released yet whose weekly weighing is due, that waiting longest first.

    `weighed_at` is when it was weighed last; soap that never was is due a week after the pour.
    """
    stands = Standing.objects.filter(lot=OuterRef("pk"))
    last = CureWeighing.objects.effective().filter(lot=OuterRef("pk")).order_by("-pk")
    lots: QuerySet[Lot] = Lot.objects.in_stock().filter(
        Q(origin__batch__version__cure_days__gt=0) | Exists(stands),
        item__kind=ItemKind.BULK,
        origin__kind=OperationKind.BATCH,
        status__in=(Status.QUARANTINE, Status.ON_HOLD),
    )
    a_week_ago = timezone.make_aware(datetime.combine(today - ROUND + timedelta(days=1), time()))
    due = Q(weighed_at__lt=a_week_ago) | Q(weighed_at=None, made_on__lte=today - ROUND)
    known = lots.annotate(weighed_at=Subquery(last.values("at")[:1])).filter(due)
    waiting = known.annotate(waits_since=Coalesce("weighed_at", "origin__opened_at"))
    return waiting.select_related("item").order_by("waits_since", "pk")


def unmet(lot: Lot, on: date) -> list[str]:
    """What a release of a lot lacks on a day, for the ledger, which asks for every release."""
    batch = batch_of(lot)
    cure = cure_of(lot) if batch and asks_anything(batch.version) else None
    return cure.unmet(on) if cure else []


def asks_anything(version: Version) -> bool:
    """Whether a formula asks for days on the rack or for tests: most ask for neither."""
    terms = (version.cure_days, version.ph_least, version.ph_most, version.free_alkali_most)
    return any(term is not None for term in terms)


def too_light(lot: Lot, fill_g: Decimal) -> str:
    """Why a label may not promise this much of a bar; empty where nothing was weighed."""
    cure = cure_of(lot) if lot.cure_weighings.exists() else None
    bar = cure.bar_g if cure and cure.weighings else None
    if cure is None or bar is None or fill_g <= bar:
        return ""
    return (
        f"A bar of lot {lot} weighed {with_unit(bar, 'g')} on {day(cure.points[-1].day)}, and the "
        f"label says {with_unit(fill_g, 'g')}. Pack it under a net weight that it has."
    )
