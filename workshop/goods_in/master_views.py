"""What is bought of whom: suppliers, certificates, materials and packaging."""

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

from django.contrib import messages
from django.db.models import Q
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from workshop.core.access import EVERYONE, OWNER, Request, allow
from workshop.core.errors import Refused
from workshop.core.forms import refuse
from workshop.core.pages import page_of
from workshop.core.stale import Watching, up_to_date
from workshop.goods_in import services
from workshop.goods_in.blends import blends_of
from workshop.goods_in.master_forms import (
    CertificateForm,
    MaterialForm,
    PackagingForm,
    SupplierForm,
    parts_of,
)
from workshop.goods_in.materials import Material, material_of
from workshop.goods_in.models import Certificate, Supplier, profile_of
from workshop.goods_in.soap import value_of
from workshop.ledger.models import Item, Kind


@require_GET
@allow(EVERYONE)
def suppliers(request: Request) -> HttpResponse:
    asked = request.GET.get("q", "").strip()
    rows = Supplier.objects.with_last_receipt().order_by("-is_active", "name")
    if asked:
        rows = rows.filter(name__icontains=asked)
    return render(request, "goods_in/suppliers.html", {"page": page_of(request, rows), "q": asked})


@require_GET
@allow(EVERYONE)
def supplier(request: Request, pk: int) -> HttpResponse:
    """One supplier, with certificates and receipts."""
    found = get_object_or_404(Supplier, pk=pk)
    receipts = found.receipts.with_counts().select_related("operation")
    context = {
        "supplier": found,
        "certificates": found.certificates.with_state(timezone.localdate()),
        "page": page_of(request, receipts),
    }
    return render(request, "goods_in/supplier.html", context)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def edit_supplier(request: Request, pk: int | None = None) -> HttpResponse:
    found = get_object_or_404(Supplier, pk=pk) if pk else None
    form = SupplierForm(request.POST or None, instance=found)

    def save() -> Supplier:
        return services.save_supplier(
            form.cleaned_data, by=request.user, at=timezone.now(), supplier=found
        )

    heading = f"Change {found}" if found else "New supplier"
    return _edit(request, form, save, heading, lambda row: ("goods_in:supplier", row.pk))


@require_GET
@allow(EVERYONE)
def certificates(request: Request) -> HttpResponse:
    """Every certificate, those that run longest first."""
    asked = request.GET.get("state", "")
    rows, today = Certificate.objects.select_related("supplier"), timezone.localdate()
    rows = rows.in_state(asked, today) if asked in STATES else rows.with_state(today)
    context = {"page": page_of(request, rows), "states": STATES, "asked": asked}
    return render(request, "goods_in/certificates.html", context)


STATES = ["valid", "lapsing", "lapsed", "to come"]


@require_GET
@allow(EVERYONE)
def certificate(request: Request, pk: int) -> HttpResponse:
    """One certificate: what it covers, and the lots that came under it."""
    rows = Certificate.objects.with_state(timezone.localdate())
    found = get_object_or_404(rows.select_related("supplier", "document"), pk=pk)
    lines = found.receipt_lines.with_lots().order_by("-pk")
    context = {"certificate": found, "items": found.items.all(), "page": page_of(request, lines)}
    return render(request, "goods_in/certificate.html", context)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def edit_certificate(request: Request, pk: int | None = None) -> HttpResponse:
    found = get_object_or_404(Certificate, pk=pk) if pk else None
    form = CertificateForm(request.POST or None, request.FILES or None, certificate=found)

    def save() -> Certificate:
        return services.save_certificate(
            form.cleaned_data, by=request.user, at=timezone.now(), certificate=found
        )

    heading = f"Change certificate {found}" if found else "New organic certificate"
    return _edit(request, form, save, heading, lambda row: ("goods_in:certificate", row.pk))


@require_GET
@allow(EVERYONE)
def materials(request: Request) -> HttpResponse:
    """Materials and packaging; `kind` and `q` narrow them down."""
    kind, asked = request.GET.get("kind", ""), request.GET.get("q", "").strip()
    rows = Item.objects.of_kind(Kind.MATERIAL, Kind.PACKAGING).select_related("profile")
    if kind in (Kind.MATERIAL, Kind.PACKAGING):
        rows = rows.of_kind(Kind(kind))
    if asked:
        named = Q(name__icontains=asked) | Q(code__icontains=asked)
        rows = rows.filter(named | Q(profile__inci_name__icontains=asked))
    context = {"page": page_of(request, rows), "kind": kind, "q": asked, "kinds": KINDS}
    return render(request, "goods_in/materials.html", context)


KINDS = [(Kind.MATERIAL, "materials"), (Kind.PACKAGING, "packaging")]


@require_GET
@allow(EVERYONE)
def material(request: Request, code: str) -> HttpResponse:
    found = bought_or_404(code)
    profile = profile_of(found)
    today = timezone.localdate()
    blends = blends_of(profile) if profile else []
    context = {
        "item": found,
        "profile": profile,
        "binds": value_of(profile) if profile else None,
        "blend": next((one for one in blends if one.holds_on(today)), None),
        "other_blends": [one for one in blends if not one.holds_on(today)],
        "today": today,
        "certificates": found.certificates.with_state(today).select_related("supplier"),
    }
    return render(request, "goods_in/material.html", context)


def bought_or_404(code: str) -> Item:
    bought = Item.objects.of_kind(Kind.MATERIAL, Kind.PACKAGING).select_related("profile")
    return get_object_or_404(bought.prefetch_related("profile__parts"), code=code)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def new_material(request: Request) -> HttpResponse:
    return _edit_material(request, None)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def new_packaging(request: Request) -> HttpResponse:
    return _edit_packaging(request, None)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def edit_material(request: Request, code: str) -> HttpResponse:
    found = bought_or_404(code)
    edit = _edit_material if found.kind == Kind.MATERIAL else _edit_packaging
    return edit(request, found)


def _edit_packaging(request: Request, found: Item | None) -> HttpResponse:
    form = PackagingForm(
        request.POST or None, material=material_of(found) if found else None, item=found
    )

    def save() -> Item:
        return _keep(request, form.material(), found)

    heading = f"Change {found}" if found else "New packaging"
    return _edit(request, form, save, heading, _material_page)


def _edit_material(request: Request, found: Item | None) -> HttpResponse:
    kept = material_of(found) if found else None
    form = MaterialForm(request.POST or None, material=kept, item=found)
    parts = parts_of(request.POST or None, parts=kept.parts if kept else ())

    def save() -> Item:
        return _keep(request, form.material(parts.parts()), found)

    heading = f"Change {found}" if found else "New material"
    more = {"parts": parts, "item": found, "kept_parts": kept.parts if kept else []}
    return _edit(request, form, save, heading, _material_page, more)


def _keep(request: Request, entry: Material, found: Item | None) -> Item:
    return services.save_material(entry, by=request.user, at=timezone.now(), item=found)


def _material_page(row: Item) -> tuple[str, str]:
    return "goods_in:material", row.code


def _edit(
    request: Request,
    form: Watching,
    save: Callable[[], Any],
    heading: str,
    page_of_row: Callable[[Any], tuple[str, int | str]],
    more: Mapping[str, Any] = MappingProxyType({}),
) -> HttpResponse:
    """Show a form; when it is filled in rightly, save and show what was saved."""
    parts = more.get("parts")
    if form.is_valid() and (parts is None or parts.is_valid()):
        try:
            with up_to_date(form):
                row = save()
        except Refused as error:
            refuse(form, error)
        else:
            messages.success(request, f"{row} is kept.")
            return redirect(*page_of_row(row))
    context = {
        "form": form,
        "heading": heading,
        "files_lost": bool(request.FILES),
        **more,
    }
    return render(request, "goods_in/edit.html", context)
