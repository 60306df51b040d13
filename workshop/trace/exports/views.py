"""A trace to hand over: the printed report, a table, a workbook, key data, EPCIS events."""

from django.http import HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_GET

from workshop.core.access import EVERYONE, Request, allow
from workshop.core.files.downloads import CSV_WITH_HEAD, XLSX, download
from workshop.core.paper.pdf import pdf_response
from workshop.trace.exports import epcis, workbook
from workshop.trace.exports.report import report_pdf
from workshop.trace.exports.rows import sheet
from workshop.trace.lot.events import events_of
from workshop.trace.lot.query import trace
from workshop.trace.views import lot_or_404

JSON_LD = "application/ld+json"


@require_GET
@allow(EVERYONE)
def as_csv(request: Request, code: str) -> HttpResponse:
    found = trace(lot_or_404(code))
    return download(f"trace-{found.lot.code}.csv", sheet(found), CSV_WITH_HEAD)


@require_GET
@allow(EVERYONE)
def as_workbook(request: Request, code: str) -> HttpResponse:
    found = trace(lot_or_404(code))
    content = workbook.workbook(found, events_of(found))
    return download(f"trace-{found.lot.code}.xlsx", content, XLSX)


@require_GET
@allow(EVERYONE)
def as_key_data(request: Request, code: str) -> HttpResponse:
    found = trace(lot_or_404(code))
    content = workbook.key_data(events_of(found))
    return download(f"key-data-{found.lot.code}.xlsx", content, XLSX)


@require_GET
@allow(EVERYONE)
def as_events(request: Request, code: str) -> HttpResponse:
    found = trace(lot_or_404(code))
    base = request.build_absolute_uri("/").rstrip("/")
    content = epcis.document(events_of(found), base=base, at=timezone.now())
    return download(f"trace-{found.lot.code}.jsonld", content, JSON_LD)


@require_GET
@allow(EVERYONE)
def as_report(request: Request, code: str) -> HttpResponse:
    found = trace(lot_or_404(code))
    made = report_pdf(found, by=request.user, at=timezone.now())
    return pdf_response(f"trace-{found.lot.code}", made)
