"""Tables of what comes in: materials and their status, suppliers and certificates, receipts."""

from collections.abc import Iterator

from workshop.goods_in.delivery_checks import papers_missing
from workshop.goods_in.models import Certificate, Receipt, Supplier
from workshop.goods_in.organic.forms import answered
from workshop.ledger.models import Item, ItemKind
from workshop.materials.models import OrganicStatus
from workshop.organic.balance.query import Period
from workshop.organic.pack.tables import Row, Table, yes


def materials(_: Period) -> Iterator[Table]:
    items = Item.objects.of_kind(ItemKind.MATERIAL).select_related("profile").order_by("name")
    rows = [
        (item.code, str(item), item.profile.inci_name, "yes" if item.profile.is_organic else "no")
        for item in items
        if hasattr(item, "profile")
    ]
    yield Table("Materials", ("code", "material", "INCI name", "bought as organic"), rows)
    heads = ("material", "of what", "scheme", "from", "what it is", "search", "source", "review")
    statuses = OrganicStatus.objects.select_related("profile__item").order_by("profile__item__name")
    said = [
        (
            str(row.profile.item), row.part_name, row.scheme, row.from_day, str(row),
            row.search, row.source, row.next_review,
        )
        for row in statuses
    ]  # fmt: skip
    yield Table("Status of what is not organic", heads, said)


def suppliers(_: Period) -> Iterator[Table]:
    heads = ("supplier", "certificate", "scheme", "name on it", "operation", "from", "to", "covers")
    papers = Certificate.objects.select_related("supplier").prefetch_related("items")
    yield Table(
        "Certificates",
        heads,
        [
            (
                str(row.supplier), str(row), row.scheme, row.holders_name, row.operation_number,
                row.valid_from, row.valid_to, ", ".join(str(item) for item in row.items.all()),
            )
            for row in papers
        ],
    )  # fmt: skip
    stops = [
        (str(paper), stop.kind, stop.from_day, stop.reason, ", ".join(stop.held))
        for paper in papers.prefetch_related("stops")
        for stop in paper.stops.all()
    ]
    yield Table("Suspended or revoked", ("certificate", "what", "from", "why", "held"), stops)
    rows: list[Row] = []
    practices: list[Row] = []
    for supplier in Supplier.objects.prefetch_related("reviews"):
        reviews = list(supplier.reviews.all())
        last = reviews[-1] if reviews else None
        verdict = last.get_verdict_display() if last else "not reviewed yet"
        rows.append(
            (
                str(supplier),
                verdict,
                last.next_review if last else None,
                last.reason if last else "",
            )
        )
        practices += [
            (str(supplier), one["words"], yes(one.get("is_done")), one.get("evidence", ""))
            for one in (answered(last) if last else ())
        ]
    yield Table("Approval", ("supplier", "verdict", "next review", "in words"), rows)
    yield Table("Fraud prevention", ("supplier", "practice", "done", "evidence"), practices)


def receipts(period: Period) -> Iterator[Table]:
    heads = (
        "receipt", "received on", "supplier", "lot", "item", "g or pieces", "supplier lot",
        "certificate", "import certificate", "not noted",
    )  # fmt: skip
    within = Receipt.objects.filter(received_on__range=(period.first, period.last))
    found = within.select_related("operation", "supplier", "papers").order_by("received_on", "pk")
    rows: list[Row] = []
    lines_of = found.prefetch_related("lines__lot__item", "lines__certificate", "lines__posting")
    for receipt in lines_of:
        lines = [line for line in receipt.lines.all() if line.taken_back_id is None]
        papers = getattr(receipt, "papers", None)
        missing = ", ".join(papers_missing(receipt, lines))
        rows += [
            (
                str(receipt), receipt.received_on, str(receipt.supplier), str(line.lot),
                str(line.lot.item), line.posting.quantity, line.supplier_lot,
                str(line.certificate) if line.is_organic else "not organic",
                papers.import_certificate if papers else "", missing,
            )
            for line in lines
        ]  # fmt: skip
    yield Table("Receipts", heads, rows)
