"""The lists of packing runs and of products."""

from typing import Any

from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from workshop.core.access import WORKERS
from workshop.core.lists.columns import (
    FLAT,
    Act,
    Amount,
    Column,
    Moment,
    Name,
    Operation,
    Time,
)
from workshop.core.lists.listing import Listing, mentioning
from workshop.packing.models import Product


def _lot(run: Any) -> str | SafeString:
    packed = run.operation.packed
    if packed:
        address = reverse("ledger:lot", args=[packed[0].lot.code])
        return format_html('<a class="lot" href="{}">{}</a>', address, packed[0].lot.shown_code)
    return "nothing put out" if run.operation.closed_at else "under way"


def _units(run: Any) -> Any:
    packed = run.operation.packed
    return packed[0].moved if packed else None


def product_page(product: Product) -> str:
    return reverse("packing:product", args=[product.item.code])


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
