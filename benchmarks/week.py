"""The week of a shop with four hundred products, beside one grouped pass over what it sent."""

from collections.abc import Iterator
from datetime import datetime, time, timedelta
from decimal import Decimal
from random import Random

from django.utils import timezone

from benchmarks.family import rows_of
from benchmarks.timing import Measurement, compare
from workshop.core.models import Role, User
from workshop.dispatch.models import Customer, Dispatch
from workshop.formulas.models import Formula, Line, Version, VersionStatus
from workshop.kettle.models import Kettle, KettleMaterial, Scale
from workshop.ledger.models import (
    Item,
    ItemKind,
    Lot,
    Operation,
    OperationKind,
    Posting,
    Side,
    Status,
    Unit,
)
from workshop.packing.models import Product
from workshop.planning.buying.needs import needs
from workshop.planning.models import CustomerOrder, CustomerOrderLine, Hours, Terms
from workshop.planning.week.planner import propose

BULKS, A_BULK, MATERIALS, KETTLES, WEEKS = 100, 4, 60, 12, 80
SENT = """
SELECT l.item_id, d.sent_on, SUM(p.quantity)
FROM ledger_posting p
JOIN ledger_lot l ON l.id = p.lot_id
JOIN ledger_operation o ON o.id = p.operation_id
JOIN dispatch_dispatch d ON d.operation_id = o.id
WHERE o.kind = 'dispatch'
GROUP BY l.item_id, d.sent_on
"""


def measure() -> Iterator[Measurement]:
    shop = _Shop(Random(1))  # noqa: S311  not for secrets
    shop.fill()
    monday = shop.today - timedelta(days=shop.today.weekday()) + timedelta(days=7)
    yield compare(
        f"{BULKS * A_BULK} products: the week",
        lambda: propose(monday=monday, today=shop.today),
        lambda: rows_of(SENT),
        times=3,
    )
    yield compare(
        f"{BULKS * A_BULK} products: what to buy",
        lambda: needs(today=shop.today),
        lambda: rows_of(SENT),
        times=3,
    )


class _Shop:
    """Four hundred products of a hundred bulks, sold for a year and a half."""

    def __init__(self, dice: Random) -> None:
        self.dice, self.today = dice, timezone.localdate()
        self.by = User.objects.create(username="bench", role=Role.OWNER)
        self.at = timezone.now()
        self.codes = 0

    def fill(self) -> None:
        materials = self._items(ItemKind.MATERIAL, MATERIALS)
        tins = self._items(ItemKind.PACKAGING, 8)
        bulks = self._items(ItemKind.BULK, BULKS)
        products = self._items(ItemKind.PRODUCT, BULKS * A_BULK)
        self._stock(materials, 60_000)
        self._stock(tins, 4_000)
        for place in range(KETTLES):
            Kettle.objects.create(
                name=f"Kettle {place}",
                capacity_g=Decimal(self.dice.choice((2500, 9000, 20000))),
                material=KettleMaterial.STEEL,
            )
        Scale.objects.create(name="Bench", division_g=Decimal("0.1"), capacity_g=Decimal(6000))
        self._formulas(bulks, materials)
        Hours.objects.create(
            hours_a_day=Decimal(80), by=self.by, at=self.at, token=f"bench hours {self.today}"
        )
        made = Product.objects.bulk_create(
            Product(
                item=item,
                bulk=bulks[place // A_BULK],
                container=self.dice.choice(tins),
                fill_g=Decimal(self.dice.choice((15, 50, 60, 100))),
                label_name=item.name,
                shelf_life_months=18,
            )
            for place, item in enumerate(products)
        )
        self._sold([one.item for one in made])

    def _items(self, kind: ItemKind, number: int) -> list[Item]:
        each = kind in (ItemKind.PACKAGING, ItemKind.PRODUCT)
        return Item.objects.bulk_create(
            Item(
                code=f"{kind[:3].upper()}-{place}",
                name=f"{kind.label} {place}",
                kind=kind,
                unit=Unit.EACH if each else Unit.GRAM,
            )
            for place in range(number)
        )

    def _formulas(self, bulks: list[Item], materials: list[Item]) -> None:
        for place, bulk in enumerate(bulks):
            formula = Formula.objects.create(item=bulk, name=f"Making {place}")
            version = Version.objects.create(
                formula=formula,
                number=1,
                made_at=self.at,
                made_by=self.by,
                claims_organic=place % 2 == 0,
                cure_days=42 if place % 5 == 0 else None,
            )
            for order, item in enumerate(self.dice.sample(materials, 8), start=1):
                Line.objects.create(version=version, item=item, order=order, share=Decimal("12.5"))
            version.status = VersionStatus.APPROVED
            version.approved_at, version.approved_by = self.at, self.by
            version.save()

    def _operation(self, kind: OperationKind, place: str, at: datetime) -> Operation:
        return Operation(
            kind=kind,
            reference=f"Z-{place}",
            token=f"bench {place}",
            opened_at=at,
            opened_by=self.by,
        )

    def _stock(self, items: list[Item], amount: int) -> list[Lot]:
        """A lot of each, received yesterday."""
        came = self._operation(OperationKind.RECEIPT, f"in {items[0].code}", self.at)
        came.save()
        return self._lots(came, items, amount)

    def _lots(self, came: Operation, items: list[Item], amount: int) -> list[Lot]:
        self.codes += len(items)
        start = self.codes
        lots = Lot.objects.bulk_create(
            Lot(
                item=item,
                code=f"{start * 1000 + place:07d}"[-7:],
                status=Status.RELEASED,
                made_on=self.today - timedelta(days=WEEKS * 7 + 7),
                best_before=self.today + timedelta(days=300 + place),
                origin=came,
            )
            for place, item in enumerate(items)
        )
        self._post([(came, lot, Side.OUT, Decimal(amount)) for lot in lots], f"in {items[0].code}")
        return lots

    def _post(self, rows: list[tuple[Operation, Lot, Side, Decimal]], name: str) -> None:
        Posting.objects.bulk_create(
            [
                Posting(
                    operation=operation,
                    lot=lot,
                    side=side,
                    quantity=change,
                    at=operation.opened_at,
                    by=self.by,
                    token=f"{name} {place}",
                )
                for place, (operation, lot, side, change) in enumerate(rows)
            ],
            batch_size=5000,
        )

    def _sold(self, items: list[Item]) -> None:
        """Each week one dispatch of most products; a third of the products are ordered now."""
        lots = self._stock(items, WEEKS * 12 + 10)
        customer = Customer.objects.create(name="Bench")
        rows = []
        for week in range(WEEKS):
            sent_on = self.today - timedelta(days=7 * (WEEKS - week))
            at = timezone.make_aware(datetime.combine(sent_on, time(12)))
            went = self._operation(OperationKind.DISPATCH, f"out {week}", at)
            went.save()
            Dispatch.objects.create(operation=went, customer=customer, sent_on=sent_on)
            rows += [
                (went, lot, Side.IN, -Decimal(self.dice.randint(6, 12)))
                for lot in lots
                if self.dice.random() < 0.9
            ]
        self._post(rows, "out")
        order = CustomerOrder.objects.create(
            number="B-1",
            customer=customer,
            ordered_on=self.today,
            due_on=self.today + timedelta(days=10),
            by=self.by,
            at=self.at,
            token=f"bench order {self.today}",
        )
        CustomerOrderLine.objects.bulk_create(
            CustomerOrderLine(order=order, item=item, units=self.dice.randint(20, 300))
            for item in items[::3]
        )
        Terms.objects.bulk_create(
            Terms(
                item=item,
                minimum_stock=Decimal(24),
                by=self.by,
                at=self.at,
                token=f"bench terms {item.pk}",
            )
            for item in items
        )
