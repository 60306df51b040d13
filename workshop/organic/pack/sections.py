"""What stands in a pack: tables of the book, each under the rules that ask for it."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from django.db.models import QuerySet
from django.utils import timezone

from workshop.aftersales.models import Complaint, Recall
from workshop.core import formatting
from workshop.core.errors import ActionRefused
from workshop.formulas.models import Version, VersionStatus
from workshop.kettle.equipment.cleaning import uncleaned_batches
from workshop.kettle.models import Batch, Cleaning
from workshop.labels.content.inputs import inputs_of_formula, product_version
from workshop.labels.models import LabelVersion
from workshop.ledger.models import Posting, Side
from workshop.ledger.proof.chain_head import head
from workshop.materials.ingredients import limits_of, scheme_choices
from workshop.organic.balance.needed import needed
from workshop.organic.balance.overview import chain, in_grams, overview
from workshop.organic.balance.query import Period
from workshop.organic.pack.goods_tables import materials, receipts, suppliers
from workshop.organic.pack.tables import Row, Table, yes
from workshop.packing.models import Product
from workshop.rules.errors import RuleError
from workshop.rules.ingredients.organic_share import Limits, organic_classification


@dataclass(frozen=True)
class Section:
    """A part of the pack, with the numbers of the rules in 7 CFR that ask for it."""

    key: str
    title: str
    rules: tuple[str, ...]
    tables: Callable[[Period], Iterable[Table]]


def _products(_: Period) -> Iterator[Table]:
    rows: list[Row] = []
    lines: list[Row] = []
    limits = {code: (name, limits_of(code)) for code, name in scheme_choices()}
    for product in Product.objects.select_related("item", "bulk").order_by("item__name"):
        version = product_version(product)
        rows += [_product_row(product, version, code, *said) for code, said in limits.items()]
    for one in _approved():
        lines += [
            (str(one.formula), f"v{one.number}", line.item.code, str(line.item), line.share)
            for line in one.lines.all()
        ]
    heads = (
        "product", "sold as organic", "formula", "under", "organic %", "category", "why not more",
    )  # fmt: skip
    yield Table("Products", heads, rows)
    yield Table("Formulas", ("formula", "version", "item", "name", "%"), lines)


def _approved() -> Iterable[Version]:
    return Version.objects.filter(status=VersionStatus.APPROVED).in_full().order_by("formula__name")


def _product_row(
    product: Product, version: Version | None, scheme: str, name: str, limits: Limits
) -> Row:
    """What a formula comes to under a scheme, by the limits of the scheme."""
    sold = "yes" if product.claims_organic else "no"
    if version is None:
        return str(product), sold, "no approved formula", name, None, "", ""
    try:
        composition = inputs_of_formula(version, scheme=scheme).composition
        found = organic_classification(composition, limits)
    except (ActionRefused, RuleError) as error:
        return str(product), sold, str(version), name, None, "", str(error)
    return (
        str(product), sold, str(version), name, found.percent, found.category,
        " ".join(found.why_not),
    )  # fmt: skip


def batches_of(period: Period) -> QuerySet[Batch]:
    within = Batch.objects.filter(
        operation__opened_at__gte=period.begins, operation__opened_at__lt=period.ends
    )
    return within.with_names().with_weights().order_by("pk")


def _batches(period: Period) -> Iterator[Table]:
    heads = ("batch", "begun", "formula", "kettle", "in, g", "poured, g", "state", "organic")
    rows = [
        (
            str(one), timezone.localdate(one.operation.opened_at), str(one.version),
            str(one.kettle), one.taken_g, one.put_out_g, one.get_state_display(),
            yes(one.version.claims_organic),
        )
        for one in batches_of(period)
    ]  # fmt: skip
    yield Table("Batches", heads, rows, "Each batch record is a file of its own in the archive.")


def _labels(_: Period) -> Iterator[Table]:
    heads = ("product", "market", "number", "name", "organic statement", "certifier", "approved")
    versions = LabelVersion.objects.approved().with_names().order_by("product__item__name")
    rows = [
        (
            str(one.product), one.market, one.number, one.name, one.organic_statement,
            one.certifier_line, one.approved_at and timezone.localdate(one.approved_at),
        )
        for one in versions
    ]  # fmt: skip
    yield Table("Labels in use", heads, rows)


def _sales(period: Period) -> Iterator[Table]:
    sent = Posting.objects.filter(
        operation__dispatch__sent_on__range=(period.first, period.last), side=Side.IN
    ).effective()
    rows = sent.select_related("lot__item", "operation__dispatch__customer").order_by(
        "operation__dispatch__customer__name", "operation__dispatch__sent_on", "pk"
    )
    yield Table(
        "Sales by customer",
        ("customer", "sent on", "dispatch", "their reference", "item", "lot", "units"),
        [
            (
                str(row.operation.dispatch.customer), row.operation.dispatch.sent_on,
                str(row.operation), row.operation.dispatch.customer_reference,
                str(row.lot.item), str(row.lot), row.moved,
            )
            for row in rows.iterator()
        ],
    )  # fmt: skip


def _balances(period: Period) -> Iterator[Table]:
    heads = (
        "item", "opening", "before the book", "received", "made", "used", "sent", "returned",
        "gone", "counts", "closing", "unexplained", "verdict",
    )  # fmt: skip
    products = overview(period, "products")
    for title, found in (
        ("Organic materials", overview(period, "organic")),
        ("Products, pieces", products),
        ("Products, g at the net weight of their labels", in_grams(products)),
    ):
        rows = [
            (
                str(row.item), row.opening, row.taken_over, row.received, row.made, row.used,
                row.sent, row.returned, row.gone, row.counted, row.closing, row.unexplained,
                row.verdict,
            )
            for row in found
        ]  # fmt: skip
        yield Table(title, heads, rows)
    sold = chain(period)
    words = "holds" if sold.holds else "DOES NOT HOLD"
    yield Table(
        "Sold as organic beside bought as organic",
        ("organic ingredients", "g"),
        sold.steps,
        f"That no more was sold than made, nor made than bought: {words}.",
    )

    yield from _needed(period)


def _needed(period: Period) -> Iterator[Table]:
    back = needed(period)
    units: list[Row] = [
        (str(one.product), one.units, one.net_g, str(one.version or ""), one.yield_percent)
        for one in back.sold
    ]
    yield Table("Units sold as organic", ("product", "units", "g", "formula", "yield %"), units)
    heads = (
        "organic material",
        "needed, g",
        "there at first, g",
        "received, g",
        "certificates",
        "",
    )
    rows: list[Row] = [
        (
            str(one.item), one.needed_g, one.had, one.received, ", ".join(one.certificates),
            "adds up" if one.holds else "MORE THAN THERE WAS",
        )
        for one in back.needs
    ]  # fmt: skip
    yield Table("What they needed", heads, rows, " ".join(back.unknown))


def _cleaning(period: Period) -> Iterator[Table]:
    within = Cleaning.objects.filter(cleaned_at__gte=period.begins, cleaned_at__lt=period.ends)
    rows = [
        (
            str(one.kettle), formatting.moment(one.cleaned_at), one.method, one.agent, one.rinse,
            str(one.by), one.checked_by,
        )
        for one in within.select_related("kettle", "by").order_by("cleaned_at")
    ]  # fmt: skip
    heads = ("kettle", "when", "what was done", "with what", "rinse", "by", "checked by")
    yield Table("Cleanings", heads, rows)
    missing = uncleaned_batches(since=period.begins, until=period.ends)
    yield Table(
        "Organic batches without a cleaning before them",
        ("batch", "after"),
        [(one.run.reference, one.before.reference) for one in missing],
    )


def _complaints(period: Period) -> Iterator[Table]:
    within = Complaint.objects.filter(received_on__range=(period.first, period.last))
    rows = [
        (one.reference, one.received_on, str(one.product or ""), one.get_nature_display(),
         one.get_severity_display(), one.get_state_display(), one.cause)
        for one in within.select_related("product").order_by("received_on")
    ]  # fmt: skip
    heads = ("complaint", "received on", "product", "nature", "severity", "state", "cause")
    yield Table("Complaints", heads, rows)
    started = Recall.objects.filter(started_at__gte=period.begins, started_at__lt=period.ends)
    recalls = [
        (one.reference, "drill" if one.is_drill else "recall", str(one.lot), one.reason,
         timezone.localdate(one.started_at), one.closed_at and timezone.localdate(one.closed_at))
        for one in started.select_related("lot")
    ]  # fmt: skip
    yield Table("Recalls and drills", ("no.", "what", "lot", "reason", "begun", "closed"), recalls)


def _seals(_: Period) -> Iterator[Table]:
    newest = head()
    rows: list[Row] = [
        ("Newest seal", newest.line if newest else "nothing is sealed yet"),
        ("Short", newest.code if newest else ""),
        (
            "By hand",
            "A seal is the SHA-256 of the seal before it and of the record as JSON; the last line "
            "of each batch record carries it. Keep this line outside the book: a book that no "
            "longer contains it was changed.",
        ),
        ("By the program", "Audit, “Check the whole book”; on the server: manage.py check_ledger."),
        (
            "This pack",
            "Its own SHA-256 is in the book under Organic, Packs. Work it out with sha256sum, or "
            "any tool for it, and compare.",
        ),
    ]
    yield Table("Seals", ("what", "how"), rows)


SECTIONS = (
    Section(
        "products", "Products, formulas and category",
        ("205.201(a)(2)", "205.301", "205.302"), _products,
    ),
    Section(
        "materials", "Materials, status and evidence",
        ("205.201(a)(2)", "205.605", "205.606"), materials,
    ),
    Section(
        "suppliers", "Suppliers, certificates, fraud prevention",
        ("205.201(a)(3)", "205.404"), suppliers,
    ),
    Section(
        "receipts", "Receipts",
        ("205.103(b)", "205.273"), receipts,
    ),
    Section(
        "batches", "Batch records",
        ("205.103(b)", "205.201(a)(4)"), _batches,
    ),
    Section(
        "labels", "Labels in use",
        ("205.303", "205.304", "205.305"), _labels,
    ),
    Section(
        "sales", "Sales by customer",
        ("205.103(b)(2)",), _sales,
    ),
    Section(
        "balances", "Mass balances",
        ("205.403(d)(4)",), _balances,
    ),
    Section(
        "cleaning", "Cleaning between batches",
        ("205.201(a)(5)", "205.272"), _cleaning,
    ),
    Section(
        "complaints", "Complaints, recalls and drills",
        ("205.103(b)",), _complaints,
    ),
    Section(
        "seals", "Seals, and how to check them by hand",
        ("205.103(b)(2)",), _seals,
    ),
)  # fmt: skip
