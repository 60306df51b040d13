"""Pages of product files: the file and its entries, notifications, text for the shop."""

import json
from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from workshop.core.access import EVERYONE, OWNER, Request, allow
from workshop.core.errors import ActionRefused
from workshop.core.files.downloads import CSV, download
from workshop.core.forms import refusals_on
from workshop.core.markets import Market
from workshop.core.paper.pdf import pdf_response
from workshop.dossier import bundle, services
from workshop.dossier.contents import file_of
from workshop.dossier.forms import EntryForm, SalesForm
from workshop.dossier.lists import FILES
from workshop.dossier.models import Entry
from workshop.dossier.notifications import notification_of
from workshop.dossier.shop import offer_csv, offer_of, rows_to_read, table_csv
from workshop.labels.content.label import design_of
from workshop.packing.models import Product
from workshop.rules.markets.laws import LAWS, law_of
from workshop.rules.product_file.headings import BY_KEY, SAFETY_REPORT
from workshop.rules.product_file.notification import FIELDS
from workshop.rules.product_file.online_offer import as_schema, missing_in_offer
from workshop.rules.product_file.small_business import SmallBusiness, small_business

KINDS = ("json", "csv", "html")


def _product(code: str) -> Product:
    found = Product.objects.select_related("item", "bulk", "label_design")
    return get_object_or_404(found, item__code=code)


def _market(market: str) -> str:
    if market not in Market.values:
        raise Http404("That is not a market known here.")
    return market


@require_GET
@allow(EVERYONE)
def home(request: Request) -> HttpResponse:
    """Every product, on the way to its file."""
    return FILES.read(request, Product.objects.select_related("item")).answer("dossier/home.html")


@require_GET
@allow(EVERYONE)
def file(request: Request, code: str) -> HttpResponse:
    """The file behind a product, heading by heading."""
    found = file_of(_product(code))
    context = {"file": found, "facts": found.facts, "product": found.product}
    return render(request, "dossier/file.html", context | {"laws": LAWS.values()})


@require_GET
@allow(EVERYONE)
def paper(request: Request, code: str) -> HttpResponse:
    return pdf_response(f"product-file-{code}", bundle.file_pdf(file_of(_product(code))))


@require_GET
@allow(EVERYONE)
def archive(request: Request, code: str) -> HttpResponse:
    """The paper with every document of the file."""
    content = bundle.file_zip(file_of(_product(code)))
    return download(f"product-file-{code}.zip", content, "application/zip")


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def entry(request: Request, code: str, key: str) -> HttpResponse:
    """Something for one heading, or for one field of a notification."""
    product = _product(code)
    title, asks, back = _heading(product, key)
    form = EntryForm(request.POST or None, request.FILES or None)
    if form.is_valid():
        with refusals_on(form):
            services.add_entry(
                product, key, **form.cleaned_data, by=request.user, at=timezone.now()
            )
            messages.success(request, f"{title} of {product} is in the file.")
            return redirect(*back)
    entries = Entry.objects.filter(product=product, key=key).select_related("by", "document")
    context = {"product": product, "title": title, "asks": asks, "form": form, "entries": entries}
    return render(request, "dossier/entry.html", context)


def _heading(product: Product, key: str) -> tuple[str, str, tuple[str, ...]]:
    """Title, what is asked for, and where to go on."""
    code = product.item.code
    if key in BY_KEY and key != SAFETY_REPORT:
        return BY_KEY[key].title, BY_KEY[key].asks, ("dossier:file", code)
    market, _, name = key.partition(":")
    for one in FIELDS.get(market, ()):
        if one.key == name:
            return one.label, one.rule, ("dossier:notification", code, market)
    raise Http404("There is no such heading.")


@require_GET
@allow(EVERYONE)
def notification(request: Request, code: str, market: str) -> HttpResponse:
    """What an authority asks to be told, to copy."""
    found = notification_of(_product(code), _market(market))
    context = {"found": found, "product": found.product, "law": law_of(market)}
    return render(request, "dossier/notification.html", context)


@require_GET
@allow(EVERYONE)
def notification_csv(request: Request, code: str, market: str) -> HttpResponse:
    found = notification_of(_product(code), _market(market))
    rows = [[one.field.label, one.value, one.field.rule] for one in found.fields]
    content = table_csv([["field", "value", "rule"], *rows])
    return download(f"notification-{market}-{code}.csv", content, CSV)


@require_GET
@allow(EVERYONE)
def shop(request: Request, code: str, market: str) -> HttpResponse:
    """Text for the shop from the approved label, with what an offer still lacks."""
    product, law = _product(code), law_of(_market(market))
    context: dict[str, Any] = {"product": product, "law": law, "design": design_of(product)}
    try:
        offer = offer_of(product, market, on=timezone.localdate())
    except ActionRefused as error:
        return render(request, "dossier/shop.html", context | {"why": error.message})
    context |= {"offer": offer, "schema": _schema(offer), "today": timezone.localdate()}
    if law.needs_responsible_person:
        context["missing"] = missing_in_offer(offer)
    return render(request, "dossier/shop.html", context)


def _schema(offer: Any) -> str:
    return json.dumps(as_schema(offer), ensure_ascii=False, indent=2)


@require_GET
@allow(EVERYONE)
def shop_file(request: Request, code: str, market: str, kind: str) -> HttpResponse:
    """The same as JSON-LD, CSV or HTML."""
    product = _product(code)
    if kind not in KINDS:
        raise Http404("The text for the shop is json, csv or html.")
    try:
        offer = offer_of(product, _market(market), on=timezone.localdate())
    except ActionRefused as error:
        messages.error(request, error.message)
        return redirect("dossier:shop", code=code, market=market)
    name = f"shop-{market}-{code}"
    if kind == "json":
        return download(f"{name}.json", _schema(offer), "application/ld+json")
    if kind == "csv":
        return download(f"{name}.csv", offer_csv(offer), CSV)
    context = {"offer": offer, "rows": rows_to_read(offer)}
    html = render(request, "dossier/print/shop.html", context).content
    return download(f"{name}.html", html, "text/html; charset=utf-8")


@require_http_methods(["GET", "POST"])
@allow(EVERYONE, write=OWNER)
def small(request: Request) -> HttpResponse:
    """Whether registration and listing are asked of the workshop in the US."""
    form, answer = SalesForm(request.POST or None), None
    if form.is_valid():
        with refusals_on(form):
            answer = _small(request, form)
    return render(request, "dossier/small.html", {"form": form, "answer": answer})


def _small(request: Request, form: SalesForm) -> SmallBusiness:
    with transaction.atomic():
        for year, usd in form.sales().items():
            services.keep_sales(year, usd, by=request.user, at=timezone.now())
    return small_business(list(form.sales().values()), makes=form.cleaned_data["makes"])
