"""The server's time for one reading at the weigh-up, beside a bare view that inserts one row."""

import itertools
from collections.abc import Iterator
from datetime import UTC, date, datetime
from decimal import Decimal

from django.db import transaction
from django.http import HttpResponse
from django.test import Client, override_settings
from django.urls import include, path, reverse

from benchmarks.shape import fill
from benchmarks.timing import Measurement, compare
from workshop.core.access import EVERYONE, Request, allow
from workshop.core.models import Role, User
from workshop.formulas.models import Formula, Line, Version, VersionStatus
from workshop.kettle import services
from workshop.kettle.models import BatchLine, Kettle, Scale
from workshop.ledger.models import Item, ItemKind, Lot, OperationKind, Posting, Side, Status, Unit
from workshop.ledger.services import create_lot, open_operation, post

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)
LINES = 6
READINGS_A_LINE = 2
READING_G = "12.5"


def measure(postings: int, *, times: int = 240) -> Iterator[Measurement]:
    """Post readings into batches of six lines, two readings a line, as at a stove."""
    if postings:
        fill(postings)
    maker = User.objects.create(username="bench-maker", role=Role.MAKER)
    lines = readings(stove(maker), maker, times)
    client = Client()
    client.force_login(maker)
    with override_settings(ROOT_URLCONF="benchmarks.kettle", ALLOWED_HOSTS=["testserver"]):
        yield weighing(client, lines, f"a reading, {postings:,} postings", times=times)


def stove(maker: User) -> tuple[Version, list[Lot]]:
    """An approved formula of six materials, and a lot of each."""
    receipt = open_operation(OperationKind.RECEIPT, by=maker, at=AT)
    bulk = Item.objects.create(code="BENCH-B", name="Balm", kind=ItemKind.BULK, unit=Unit.GRAM)
    version = Version.objects.create(
        formula=Formula.objects.create(item=bulk, name="Balm"), number=1, made_at=AT, made_by=maker
    )
    lots = [material(number, receipt, version, maker) for number in range(LINES)]
    version.status, version.approved_at, version.approved_by = VersionStatus.APPROVED, AT, maker
    version.save()
    return version, lots


def material(number: int, receipt: object, version: Version, maker: User) -> Lot:
    item = Item.objects.create(
        code=f"BENCH-{number}", name=f"Oil {number}", kind=ItemKind.MATERIAL, unit=Unit.GRAM
    )
    share = Decimal(100) - 16 * (LINES - 1) if number == 0 else Decimal(16)
    Line.objects.create(version=version, item=item, order=number + 1, share=share)
    values = {"made_on": date(2026, 1, 5), "best_before": None, "status": Status.RELEASED}
    lot = create_lot(item, origin=receipt, by=maker, at=AT, **values)  # type: ignore[arg-type]
    post(receipt, lot, Side.OUT, Decimal(100_000), by=maker, at=AT)  # type: ignore[arg-type]
    return lot


def readings(
    made: tuple[Version, list[Lot]], maker: User, times: int
) -> list[tuple[BatchLine, Lot]]:
    """Which line is weighed when, from which lot."""
    version, lots = made
    kettle = Kettle.objects.create(name="bench kettle", capacity_g=Decimal(9000))
    scale = Scale.objects.create(
        name="bench scale", division_g=Decimal("0.1"), capacity_g=Decimal(6000)
    )
    asked: list[tuple[BatchLine, Lot]] = []
    while len(asked) < times:
        batch = services.plan_batch(
            version,
            kettle=kettle,
            scale=scale,
            target_g=Decimal(1000),
            by=maker,
            at=AT,
            token=f"bench-{len(asked)}",
        )
        rows = list(batch.lines.select_related("batch__operation").order_by("order"))
        asked += list(zip(rows, lots, strict=True)) * READINGS_A_LINE
    return asked


def weighing(
    client: Client, lines: list[tuple[BatchLine, Lot]], name: str, *, times: int
) -> Measurement:
    ours_next, bare_next, numbers = iter(lines), iter(lines), itertools.count()

    def ours() -> None:
        line, lot = next(ours_next)
        number = next(numbers)
        first_round = number % (LINES * READINGS_A_LINE) < LINES
        address = reverse("kettle:weigh", args=[line.batch.operation.reference])
        data = {
            "line": line.pk,
            "lot": lot.code,
            "reading_g": READING_G,
            "scale": line.batch.scale_id,
            "shown_taken_g": "0" if first_round else READING_G,
            "token": f"bench-ours-{number}",
        }
        answer = client.post(address, data, headers={"accept": "application/json"})
        if answer.status_code != 200:
            raise RuntimeError(answer.content.decode())

    def bare() -> None:
        line, lot = next(bare_next)
        data = {"operation": line.batch.operation_id, "lot": lot.pk, "n": next(numbers)}
        client.post("/bare/", data)

    return compare(name, ours, bare, times=times)


@allow(EVERYONE)
def one_row(request: Request) -> HttpResponse:
    """What a bare view does: one row in one transaction, for whoever is signed in."""
    token = f"bench-bare-{request.POST['n']}"
    with transaction.atomic():
        Posting.objects.create(
            operation_id=request.POST["operation"],
            lot_id=request.POST["lot"],
            side=Side.IN,
            quantity=Decimal("-0.1"),
            at=AT,
            by=request.user,
            token=token,
        )
    return HttpResponse()


urlpatterns = [path("bare/", one_row), path("", include("workshop.urls"))]
