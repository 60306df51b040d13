"""The lists of packing runs, products, finished lots that wait, and samples kept back."""

from collections.abc import Callable
from datetime import date
from typing import Any

from django.db.models import Q
from django.template.defaultfilters import pluralize
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from workshop.core.access import PACKERS, WORKERS
from workshop.core.lists.columns import (
    FLAT,
    Act,
    Amount,
    Column,
    Day,
    Figure,
    LotTag,
    Moment,
    Name,
    Operation,
    Time,
)
from workshop.core.lists.listing import Listing, Pick, mentioning
from workshop.core.templatetags.tarebook import state
from workshop.ledger.lists import lot_page, lot_state
from workshop.ledger.models import Lot, Status
from workshop.ledger.models.ledger import FIRST_EXPIRED_FIRST
from workshop.packing.models import Product
from workshop.packing.runs.packable import fillings, products_of

STOPPED = (Status.ON_HOLD, Status.REJECTED)


def _lot(run: Any) -> str | SafeString:
    packed = run.operation.packed
    if packed:
        address = reverse("ledger:lot", args=[packed[0].lot.code])
        return format_html('<a class="lot" href="{}">{}</a>', address, packed[0].lot.shown_code)
    return "nothing put out" if run.operation.closed_at else "under way"


def _units(run: Any) -> Any:
    packed = run.operation.packed
    return packed[0].moved if packed else None


def _packed_lot(run: Any) -> Any:
    packed = run.operation.packed
    return packed[0].lot if packed else None


def labels_act(lot_of: Callable[[Any], Any] = lambda lot: lot) -> Act:
    """The printing of a finished lot's labels, unless that is stopped."""

    def offered(row: Any) -> str:
        lot = lot_of(row)
        return "Print labels" if lot and lot.status not in STOPPED else ""

    return Act(
        "Next",
        offered,
        to=lambda row: reverse("labels:print", args=[lot_of(row).code]),
        roles=tuple(PACKERS),
    )


def product_page(product: Product) -> str:
    return reverse("packing:product", args=[product.item.code])


def finished_lot() -> LotTag:
    return LotTag("Lot", lambda lot: lot.shown_code, to=lot_page, order=("code",))


RUNS = Listing(
    columns=[
        Time("Begun at", lambda run: run.operation.opened_at),
        Operation(
            "Run",
            lambda run: run.operation.reference,
            to=lambda run: reverse("packing:run", args=[run.operation.reference]),
            order=("pk",),
        ),
        Moment(
            "When",
            lambda run: run.operation.opened_at,
            order=("operation__opened_at",),
            only=FLAT,
        ),
        Name("Product", lambda run: run.product, order=("product__item__name",)),
        Column("Lot", _lot),
        Amount("Units", _units, unit="each"),
        Column("By", lambda run: run.operation.opened_by),
        labels_act(_packed_lot),
    ],
    order=("-pk",),
    order_words="newest first",
    none="Nothing was packed yet.",
    search=mentioning("operation__reference", "product__item__name"),
    search_word="Run or product",
    days="operation__opened_at",
    are_moments=True,
    days_word="Packed from",
    log=lambda run: run.operation.opened_at,
    file="packing-runs",
)
RUNS_UNDER_WAY = Listing(
    columns=[
        Operation(
            "Run",
            lambda run: run.operation.reference,
            to=lambda run: reverse("packing:run", args=[run.operation.reference]),
            order=("pk",),
        ),
        Name("Product", lambda run: run.product, order=("product__item__name",)),
        Moment("Begun", lambda run: run.operation.opened_at, order=("operation__opened_at",)),
        Figure("Units planned", lambda run: run.planned_units, place="c3"),
        Figure("Weighed", lambda run: run.weighed),
        Column("By", lambda run: run.operation.opened_by),
    ],
    order=("-pk",),
    order_words="newest first",
    none="No packing run is under way.",
    search=mentioning("operation__reference", "product__item__name"),
    search_word="Run or product",
    file="packing-under-way",
)


def to_pack_list(*, may_pack: bool) -> Listing:
    """Bulk that fills at least one unit, with each product as a button where one may pack."""

    def fills(lot: Lot) -> SafeString:
        page, css = ("packing:pack", "btn") if may_pack else ("packing:product", "more")
        return format_html_join(
            SafeString(""),
            '<div><a class="{}" href="{}">{}{}</a> <span class="quiet nowrap">{} {}</span></div>',
            (
                (
                    css,
                    reverse(page, args=[one.product.item.code]),
                    "Pack " if may_pack else "",
                    one.product,
                    one.units,
                    f"{one.product.unit_name}{pluralize(one.units)}",
                )
                for one in fillings(lot, products_of(lot))
            ),
        )

    return Listing(
        columns=[
            LotTag("Lot", lambda lot: lot.shown_code, to=lot_page, order=("code",)),
            Name("Bulk", lambda lot: lot.item, order=("item__name",)),
            Amount("On hand", lambda lot: lot.on_hand, order=("on_hand",)),
            Day("Best before", lambda lot: lot.best_before, order=("best_before",)),
            Column("Fills", fills),
        ],
        order=FIRST_EXPIRED_FIRST,
        order_words="first expired first",
        none="A bulk lot stands here once its batch is poured and released, and it fills one unit"
        " of a product at least.",
        search=mentioning("code", "item__name"),
        search_word="Lot or bulk",
        days="best_before",
        days_word="Best before, from",
        file="bulk-to-pack",
    )


PRODUCTS = Listing(
    columns=[
        Operation(
            "Code", lambda product: product.item.code, to=product_page, order=("item__code",)
        ),
        Name(
            "Product",
            str,
            below=lambda product: "" if product.item.is_active else "no longer made",
            order=("item__name",),
        ),
        Column("Bulk", lambda product: product.bulk, order=("bulk__name",)),
        Column("Container", lambda product: product.container),
        Amount("Fill", lambda product: product.fill_g, order=("fill_g",)),
        Column("GTIN", lambda product: product.gtin),
        Act(
            "Next",
            lambda product: "Pack" if product.item.is_active else "",
            to=lambda product: reverse("packing:pack", args=[product.item.code]),
            roles=tuple(WORKERS),
        ),
    ],
    order=("-item__is_active", "item__name"),
    order_words="by name",
    none="There is no product yet. A product is a bulk in a container, filled to a weight.",
    search=mentioning("item__name", "item__code"),
    file="products",
)
AWAITING = Listing(
    columns=[
        finished_lot(),
        Operation(
            "Run",
            lambda lot: lot.origin.reference,
            to=lambda lot: reverse("packing:run", args=[lot.origin.reference]),
            order=("origin__reference",),
            place="",
        ),
        Name("Product", lambda lot: lot.item, order=("item__name",)),
        Day("Packed on", lambda lot: lot.made_on, order=("made_on",)),
        Day("Best before", lambda lot: lot.best_before, order=("best_before",)),
        Amount("On hand", lambda lot: lot.on_hand, unit="each", order=("on_hand",)),
        lot_state(),
        labels_act(),
    ],
    order=("-pk",),
    order_words="newest first",
    none="None is waiting.",
    search=mentioning("code", "item__name", "origin__reference"),
    search_word="Lot, product or run",
    file="waiting-for-release",
)


def _places(lot: Any) -> SafeString:
    places = dict.fromkeys(row.place for row in lot.put_away)
    return format_html_join(SafeString("<br>"), "{}", ((place,) for place in places))


def samples_list(*, on: date) -> Listing:
    """The list of what is kept back, as it stands on a day."""

    def may_go(lot: Any) -> SafeString | str:
        is_over = lot.best_before and lot.best_before < on
        return state("expired", "past") if is_over else ""

    return Listing(
        columns=[
            finished_lot(),
            Name("Product", lambda lot: lot.item, order=("item__name",)),
            Amount("Kept back", lambda lot: lot.kept, unit="each", order=("kept",)),
            Column("Where", _places),
            Day("Best before", lambda lot: lot.best_before, below=may_go, order=("best_before",)),
            lot_state(),
            Act(
                "Next",
                lambda lot: "Release samples",
                to=lambda lot: reverse("packing:give-up", args=[lot.code]),
                roles=tuple(PACKERS),
            ),
        ],
        order=("best_before", "pk"),
        order_words="soonest to expire first",
        none="No sample is retained.",
        search=mentioning("code", "item__name"),
        search_word="Lot or product",
        picks=[
            Pick("past", "Past their date", Q(best_before__lt=on), "stop"),
            Pick("within", "Within it", Q(best_before__gte=on), "good"),
        ],
        days="best_before",
        days_word="Best before, from",
        file="samples",
    )
