"""The trace page: where a lot came from, who has it, every gram of it."""

import csv
from collections.abc import Iterator
from decimal import Decimal
from io import StringIO

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pytest_django.asserts import assertContains, assertNotContains

from tests import make
from tests.dispatch import build as dispatch
from tests.goods_in import build as goods_in
from tests.kettle import build as kettle
from tests.trace import build
from workshop.core.models import Role
from workshop.dispatch.services.delivery_confirmation import confirm_delivery
from workshop.goods_in.models import Certificate
from workshop.ledger import services as ledger
from workshop.ledger.models import ItemKind, Lot, Status
from workshop.trace.exports.rows import HEADS, sheet
from workshop.trace.lot.headline import headline
from workshop.trace.lot.query import trace
from workshop.trace.lot.result import Trace
from workshop.trace.lot.under_way import under_way

pytestmark = pytest.mark.django_db


@pytest.fixture
def inspector(client: Client) -> Client:
    client.force_login(make.user(Role.INSPECTOR))
    return client


class Job:
    """Beeswax and oil bought, infused, cooked, packed, sent to two shops, one tin back."""

    def __init__(self) -> None:
        of = goods_in.supplier("Marl Ridge Apiary")
        item = goods_in.material("Beeswax")
        goods_in.certificate(of, [item], number="EXAMPLE-EG-2231")
        self.wax: Lot = goods_in.line(
            item,
            of=of,
            grams=5000,
            supplier_lot="MR-0117",
            is_organic=True,
            certificate=Certificate.objects.get(),
        ).lot
        self.oil = make.lot(make.item(name="Sunflower oil"), on_hand=9000)
        self.herb = make.lot(make.item(name="Dried calendula"), on_hand=600)
        self.tins = make.lot(make.item(ItemKind.PACKAGING, name="Tin, 60 g"), on_hand=100)
        self.infusion = build.batch(
            (self.oil, 1800), (self.herb, 200), grams=1600, name="Calendula infusion"
        )
        self.salve = build.batch((self.infusion, 800), (self.wax, 200), grams=960)
        self.jars = build.packed((self.salve, 480), (self.tins, 8), units=8)
        self.shops = [dispatch.customer("Ostrell Larder"), dispatch.customer("Quillan Chemist")]
        self.sent = [
            dispatch.sent((self.jars, units), to=shop)
            for shop, units in zip(self.shops, (5, 2), strict=True)
        ]
        dispatch.back(self.sent[0], (self.jars, 1))
        confirm_delivery(self.sent, arrived_on=make.DAY, by=make.user(), at=make.NOON)


@pytest.fixture
def job(db: None) -> Job:
    return Job()


def page(client: Client, lot: Lot) -> Trace:
    found: Trace = client.get(reverse("trace:lot", args=[lot.code])).context["trace"]
    return found


def test_finished_lot_is_traced_back_to_every_supplier_lot_with_its_grams(job: Job) -> None:
    found = trace(job.jars)

    # 480 of the 1000 g weighed into the salve: 384 g of infusion, of which a tenth is herb.
    assert {source.lot: (source.taken, source.inside) for source in found.bought} == {
        job.oil: (Decimal(1800), Decimal("345.6")),
        job.wax: (Decimal(200), Decimal(96)),
        job.herb: (Decimal(200), Decimal("38.4")),
        job.tins: (Decimal(8), Decimal(8)),
    }
    assert {source.lot: source.inside for source in found.made_here} == {
        job.salve: Decimal(480),
        job.infusion: Decimal(384),
    }


def test_bought_lot_is_traced_forward_to_every_customer_with_units(job: Job) -> None:
    found = trace(job.wax)

    assert [(made.lot, made.inside) for made in found.products] == [
        (job.salve, Decimal(200)),
        (job.jars, Decimal(96)),
    ]
    assert [
        (one.customer, one.units, one.back, one.still_out, one.inside) for one in found.sendings
    ] == [
        (job.shops[0], Decimal(5), Decimal(1), Decimal(4), Decimal(60)),
        (job.shops[1], Decimal(2), Decimal(0), Decimal(2), Decimal(24)),
    ]
    assert found.finished[0].balance.on_hand == 2


def test_trace_page_names_supplier_certificate_and_customers(inspector: Client, job: Job) -> None:
    answer = inspector.get(reverse("trace:lot", args=[job.wax.code]))

    for words in (
        f"Beeswax lot {job.wax} went into 1 batch, 8 finished units and out to 2 customers",
        "Marl Ridge Apiary",
        "MR-0117",
        "EXAMPLE-EG-2231",
        "Ostrell Larder",
        f"D-{make.MONTH}-01",
    ):
        assertContains(answer, words)


def test_trace_page_of_a_finished_lot_names_the_suppliers_lot(inspector: Client, job: Job) -> None:
    answer = inspector.get(reverse("trace:lot", args=[job.jars.code]))

    assertContains(answer, f"Hand salve 60 g lot {job.jars}: 6 of 8 units are with 2 customers")
    assertContains(answer, "MR-0117")
    assertContains(answer, "EXAMPLE-EG-2231")
    assertContains(answer, reverse("trace:lot", args=[job.wax.code]))


def test_trace_reads_the_code_however_it_is_spelled(inspector: Client, job: Job) -> None:
    answer = inspector.get(reverse("trace:lot", args=[job.wax.shown_code.lower()]))

    assert answer.status_code == 200


def test_balance_of_a_lot_closes_to_the_milligram(job: Job) -> None:
    ledger.count_lot(
        job.wax,
        counted=Decimal("4790.125"),
        reason="Drips",
        by=make.user(),
        at=make.NOON,
        token="c",
    )
    ledger.discard(
        job.wax, quantity=Decimal("0.125"), reason="Dust", by=make.user(), at=make.NOON, token="d"
    )
    held = trace(job.wax).balance

    assert (held.came_in, held.used, held.counted, held.discarded, held.on_hand) == (
        Decimal(5000),
        Decimal(200),
        Decimal("-9.875"),
        Decimal("0.125"),
        Decimal(4790),
    )
    assert held.unaccounted == 0


def test_reversed_posting_leaves_no_link(job: Job) -> None:
    stranger = make.lot()
    salve = build.run(
        "batch",  # type: ignore[arg-type]  # the value of the act
        [(job.oil, 10)],
        [(build.bulk(), 9)],
        by=make.user(),
        wrong=[(stranger, 10)],
    )[0]

    assert [source.lot for source in trace(salve).bought] == [job.oil]
    assert trace(stranger).products == []


def test_lot_that_has_gone_nowhere_says_so(inspector: Client) -> None:
    lot = make.lot(make.item(name="Shea butter"), on_hand=500)

    answer = inspector.get(reverse("trace:lot", args=[lot.code]))

    assertContains(answer, "has gone into nothing yet: 500.0\u202fg on hand")
    assertNotContains(answer, "<svg width")


def test_finished_lot_not_sent_says_so(db: None) -> None:
    jars = build.packed((make.lot(), 60), units=1)

    assert headline(trace(jars)).endswith(": 1 made, 1 on hand, none sent out")


def test_lot_on_hold_says_since_when_who_and_why(inspector: Client, job: Job) -> None:
    owner = make.user(first_name="Odile")
    ledger.set_lot_status(
        job.oil, Status.ON_HOLD, by=owner, at=make.NOON, reason="rancid smell reported"
    )

    answer = inspector.get(reverse("trace:lot", args=[job.oil.code]))

    assertContains(answer, "on hold")
    assertContains(answer, "Odile: “rancid smell reported”")


def rows_of(text: str) -> Iterator[dict[str, str]]:
    return csv.DictReader(StringIO(text))


def test_sheet_holds_every_row_of_the_trace(inspector: Client, job: Job) -> None:
    answer = inspector.get(reverse("trace:csv", args=[job.salve.code]))

    assert answer["Content-Type"] == "text/csv; charset=utf-8; header=present"
    assert answer["Content-Disposition"] == f'attachment; filename="trace-{job.salve.code}.csv"'
    text = answer.content.decode("utf-8")
    assert next(csv.reader(StringIO(text))) == HEADS
    rows = [(row["relation"], row["lot"]) for row in rows_of(text)]
    assert rows == [
        ("this lot", str(job.salve)),
        ("went into it", str(job.oil)),
        ("went into it", str(job.wax)),
        ("went into it", str(job.herb)),
        ("went into it", str(job.infusion)),
        ("made from it", str(job.jars)),
        ("sent out", str(job.jars)),
        ("sent out", str(job.jars)),
    ]
    wax = next(row for row in rows_of(text) if row["item"] == "Beeswax")
    assert (wax["supplier lot"], wax["taken for this trace"]) == ("MR-0117", "200.000")


@pytest.mark.parametrize("name", ["=1+2", "+1", "-1", "@SUM(A1)", " =1", "\t=1", "\u200b=1"[1:]])
def test_sheet_never_hands_a_spreadsheet_a_formula(job: Job, name: str) -> None:
    job.shops[0].name = name
    job.shops[0].save()

    sent = [row for row in rows_of(sheet(trace(job.wax))) if row["relation"] == "sent out"]

    assert sent[0]["customer"] == f"'{name}"
    assert sent[0]["sent"] == "5.000"


def test_trace_of_an_unknown_code_is_not_in_the_book(inspector: Client) -> None:
    for code in ("ABCDEFC", "🫙", "%", "A" * 300):
        assert inspector.get(reverse("trace:lot", args=[code])).status_code == 404


def test_list_of_an_unknown_name_is_not_in_the_book(inspector: Client, job: Job) -> None:
    assert inspector.get(reverse("trace:rows", args=[job.wax.code, "all"])).status_code == 404


def chain(length: int) -> Lot:
    """A remelt of a remelt of a remelt …"""
    lot = make.lot()
    for _ in range(length):
        lot = build.batch((lot, 10), (make.lot(), 5), grams=14)
    return lot


def fan(width: int) -> Lot:
    """A lot that goes into many batches, each packed and sent out."""
    lot = make.lot(on_hand=9000)
    for number in range(width):
        jars = build.packed((build.batch((lot, 10), (make.lot(), 5), grams=14), 14), units=3)
        dispatch.sent((jars, 2), to=dispatch.customer(f"Shop {width} {number}"))
    return lot


def queries(client: Client, name: str, *args: str) -> int:
    with CaptureQueriesContext(connection) as seen:
        answer = client.get(reverse(name, args=args))
    assert answer.status_code == 200
    return len(seen)


def test_what_is_in_a_kettle_now_is_on_the_page_and_in_the_table(inspector: Client) -> None:
    """A melt that took of the lot has no lot of its own before it is poured."""
    oil = make.lot(make.item(name="Sunflower oil"), on_hand=9000)
    version = kettle.version([(oil.item, "100")])
    once = kettle.batch(version)
    kettle.weigh(once.lines.get(), "1000", lot=oil)
    assert headline(trace(oil), under_way(trace(oil))) == (
        f"Sunflower oil lot {oil} is in {once.operation}, under way: 8\u202f000.0\u202fg on hand"
    )
    kettle.pour(once)
    again = kettle.batch(version)
    kettle.weigh(again.lines.get(), "400.5", lot=oil)

    page = inspector.get(reverse("trace:lot", args=[oil.code]))
    table = inspector.get(reverse("trace:csv", args=[oil.code])).content.decode()

    open_now = page.context["under_way"]
    assert [(one.operation, one.lot, one.taken) for one in open_now] == [
        (again.operation, oil, Decimal("400.5"))
    ]
    assertContains(page, f"went into 1 batch; more of it is in {again.operation}, under way")
    assertContains(page, "In process now")
    assert [row.split(",")[0] for row in table.splitlines()].count("in process now") == 1


def test_trace_takes_the_same_queries_however_deep(inspector: Client) -> None:
    shallow, deep = chain(2), chain(40)

    for name in ("trace:lot", "trace:csv"):
        assert queries(inspector, name, shallow.code) == queries(inspector, name, deep.code)
    found = trace(deep)
    assert (len(found.made_here), len(found.bought)) == (39, 41)
    assert sum(found.back.of[source.lot.pk] for source in found.bought) == 15


def test_trace_takes_the_same_queries_however_wide(inspector: Client) -> None:
    narrow, wide = fan(2), fan(25)

    for name, *args in (("trace:lot",), ("trace:csv",), ("trace:rows", "customers")):
        counts = {queries(inspector, name, lot.code, *args) for lot in (narrow, wide)}
        assert len(counts) == 1
    assert len(trace(wide).sendings) == 25


def test_trace_page_shows_twenty_rows_and_leads_to_all_of_them(inspector: Client) -> None:
    lot = fan(21)
    rows = reverse("trace:rows", args=[lot.code, "customers"])

    answer = inspector.get(reverse("trace:lot", args=[lot.code]))

    assertContains(answer, f'These are 20 of 21. <a href="{rows}">Show all 21</a>')
    assert len(inspector.get(rows).context["list"].page.object_list) == 21


def test_home_lists_the_latest_lots_with_the_same_queries(inspector: Client) -> None:
    make.lot()
    first = queries(inspector, "trace:home")
    for _ in range(4):
        make.lot()

    assert queries(inspector, "trace:home") == first
