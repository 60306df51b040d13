"""Keep the hours of a week, and the terms of an item."""

from dataclasses import asdict, dataclass
from datetime import datetime
from decimal import Decimal

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.goods_in.models import Supplier
from workshop.ledger.models import Item, ItemKind
from workshop.planning.models import NO_DAYS, Hours, Terms


@dataclass(frozen=True)
class HoursFacts:
    """Hours and capacity; as the columns of `Hours`."""

    hours_a_day: Decimal
    days: str
    weeks_ahead: int
    batches_a_day: int
    batch_minutes: int
    units_an_hour: int
    cleaning_minutes: int
    racks_hold_g: Decimal | None = None


@dataclass(frozen=True)
class TermsFacts:
    """How an item is stocked, bought and wanted; as the columns of `Terms`."""

    minimum_stock: Decimal = Decimal(0)
    supplier: Supplier | None = None
    lead_days: int | None = None
    pack_size: Decimal | None = None
    order_least: Decimal | None = None
    wanted_per_week: Decimal | None = None
    order_cost: Decimal | None = None
    holding_percent: Decimal | None = None
    usual_minutes: int | None = None


@transaction.atomic
def keep_hours(facts: HoursFacts, *, by: User, at: datetime, token: str) -> Hours:
    """Keep what a week has from now on. Raises ActionRefused for a week without a working day."""
    if check_idempotency(token, "hours", facts=facts):
        return Hours.objects.get(token=token)
    if facts.days == NO_DAYS or len(facts.days) != len(NO_DAYS):
        raise ActionRefused("Choose at least one day of work.", field="days")
    return Hours.objects.create(**asdict(facts), by=by, at=at, token=token)


@transaction.atomic
def keep_terms(item: Item, facts: TermsFacts, *, by: User, at: datetime, token: str) -> Terms:
    """Keep how an item is stocked and bought from now on.

    Raises ActionRefused for a product bought from a supplier, and for what is bought but wanted by
    the week: that follows from the products.
    """
    if check_idempotency(token, "terms", item=item, facts=facts):
        return Terms.objects.get(token=token)
    is_made = item.kind in (ItemKind.PRODUCT, ItemKind.BULK)
    of_orders = (facts.lead_days, facts.pack_size, facts.order_least, facts.order_cost)
    if is_made and (facts.supplier or any(of_orders)):
        raise ActionRefused("It is made here, so nothing of it is ordered.", field="supplier")
    if item.kind != ItemKind.PRODUCT and facts.wanted_per_week is not None:
        raise ActionRefused(
            "What is wanted of it follows from the products it goes into.", field="wanted_per_week"
        )
    if not is_made and facts.usual_minutes is not None:
        raise ActionRefused("It is bought, so no batch of it is made.", field="usual_minutes")
    values = {name: getattr(facts, name) for name in TermsFacts.__dataclass_fields__}
    return Terms.objects.create(item=item, **values, by=by, at=at, token=token)
