"""Builders of soap on its rack: poured, weighed, tested."""

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django.utils import timezone

from tests import make
from tests.kettle import build as kettle
from tests.kettle import soaps
from workshop.core.saving.new_tokens import new_token
from workshop.curing import services
from workshop.curing.models import CureTest, CureTestKind, CureWeighing, WeighedAs
from workshop.kettle.models import Batch
from workshop.ledger.models import Lot

# Terms as makers have them: no source but IS 2888 for the free alkali, second-hand.
TERMS: dict[str, Any] = {
    "cure_days": 42,
    "cure_loss": Decimal(12),
    "weekly_loss_most": Decimal("0.5"),
    "ph_least": Decimal(8),
    "ph_most": Decimal("10.5"),
    "free_alkali_most": Decimal("0.05"),
}


def on_day(days_ago: int, **earlier: int) -> datetime:
    """So much earlier than now, so many days ago: just after midnight no day earlier still."""
    now = timezone.now() - timedelta(days=days_ago)
    start = timezone.localtime(now).replace(hour=0, minute=0, second=0, microsecond=0)
    return max(start, now - timedelta(**earlier))


def soap(*, days_ago: int = 0, **terms: Any) -> Lot:
    """A lot of 900 g, 14.2 % of it water at the pour, poured so many days ago."""
    at = on_day(days_ago, hours=1)
    batch = kettle.batch(soaps.version(**(TERMS | terms)), at=at)
    for line in batch.lines.all():
        lot = make.lot(line.item, made_on=timezone.localdate(at))
        kettle.weigh(line, lot=lot, at=at)
    (made,) = kettle.pour(Batch.objects.get(pk=batch.pk), "900", at=at)
    return Lot.objects.select_related("item", "origin__batch").get(pk=made.pk)


def weighed(
    lot: Lot, grams: str, *, days_ago: int = 0, kind: WeighedAs = WeighedAs.BAR, **values: Any
) -> CureWeighing:
    at = on_day(days_ago, minutes=30)
    values = {"by": make.user(), "at": at, "token": new_token(), **values}
    return services.weigh_round([services.RoundRow(lot, kind, Decimal(grams))], **values)[0]


def tested(lot: Lot, kind: CureTestKind, value: str) -> CureTest:
    return services.add_test(
        lot, kind, Decimal(value), method="ISO 456", by=make.user(), at=make.NOON, token=new_token()
    )


def cured(**terms: Any) -> Lot:
    """Its days are over, it was weighed at rest and passed its tests."""
    lot = soap(days_ago=50, **terms)
    for days_ago, grams in ((49, "120"), (14, "111"), (7, "110.6"), (0, "110.4")):
        weighed(lot, grams, days_ago=days_ago)
    tested(lot, CureTestKind.PH, "9.6")
    tested(lot, CureTestKind.FREE_ALKALI, "0.03")
    return lot
