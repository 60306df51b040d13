"""What is bought of whom: suppliers, certificates, materials and packaging."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from workshop.core.access import EVERYONE, OWNER, Request, allow
from workshop.core.web.edit_views import edit_page
from workshop.goods_in import services
from workshop.goods_in.lists import (
    CERTIFICATES,
    LOTS_UNDER_CERTIFICATE,
    OF_ONE_SUPPLIER,
    SUPPLIERS,
)
from workshop.goods_in.models import Certificate, Supplier
from workshop.goods_in.suppliers.forms import CertificateForm, SupplierForm


@require_GET
@allow(EVERYONE)
def suppliers(request: Request) -> HttpResponse:
    return SUPPLIERS.read(request, Supplier.objects.with_last_receipt()).answer(
        "goods_in/suppliers.html"
    )


@require_GET
@allow(EVERYONE)
def supplier(request: Request, pk: int) -> HttpResponse:
    """One supplier, with certificates and receipts."""
    found = get_object_or_404(Supplier, pk=pk)
    receipts = found.receipts.with_counts().select_related("operation")
    context = {
        "supplier": found,
        "certificates": found.certificates.with_state(timezone.localdate()),
        "review": found.reviews.select_related("by").last(),
        "today": timezone.localdate(),
    }
    return OF_ONE_SUPPLIER.read(request, receipts).answer("goods_in/supplier.html", context)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def edit_supplier(request: Request, pk: int | None = None) -> HttpResponse:
    found = get_object_or_404(Supplier, pk=pk) if pk else None
    form = SupplierForm(request.POST or None, instance=found)

    def save() -> Supplier:
        return services.save_supplier(
            form.cleaned_data, by=request.user, at=timezone.now(), supplier=found
        )

    heading = f"Edit {found}" if found else "New supplier"
    return edit_page(
        request,
        form,
        save,
        lambda row: ("goods_in:supplier", row.pk),
        template="goods_in/edit.html",
        heading=heading,
    )


@require_GET
@allow(EVERYONE)
def certificates(request: Request) -> HttpResponse:
    """Every certificate, with its state today."""
    rows = Certificate.objects.select_related("supplier").with_state(timezone.localdate())
    return CERTIFICATES.read(request, rows).answer("goods_in/certificates.html")


@require_GET
@allow(EVERYONE)
def certificate(request: Request, pk: int) -> HttpResponse:
    """One certificate: what it covers, and the lots that came under it."""
    rows = Certificate.objects.with_state(timezone.localdate())
    found = get_object_or_404(rows.select_related("supplier", "document"), pk=pk)
    context = {
        "certificate": found,
        "stops": found.stops.select_related("by"),
        "items": found.items.all(),
    }
    lines = found.receipt_lines.with_lots()
    return LOTS_UNDER_CERTIFICATE.read(request, lines).answer("goods_in/certificate.html", context)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def edit_certificate(request: Request, pk: int | None = None) -> HttpResponse:
    found = get_object_or_404(Certificate, pk=pk) if pk else None
    form = CertificateForm(request.POST or None, request.FILES or None, certificate=found)

    def save() -> Certificate:
        return services.save_certificate(
            form.cleaned_data, by=request.user, at=timezone.now(), certificate=found
        )

    heading = f"Edit certificate {found}" if found else "New organic certificate"
    return edit_page(
        request,
        form,
        save,
        lambda row: ("goods_in:certificate", row.pk),
        template="goods_in/edit.html",
        heading=heading,
    )
