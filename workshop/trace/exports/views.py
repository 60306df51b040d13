"""A trace to hand over: the printed report, a table, a workbook, key data, EPCIS events."""

from django.http import HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_GET

from workshop.core.access import EVERYONE, Request, allow
from workshop.core.paper.pdf import pdf_response
from workshop.trace.exports import epcis, workbook
from workshop.trace.exports.report import report_pdf
from workshop.trace.exports.rows import sheet
from workshop.trace.lot.events import events_of
from workshop.trace.lot.query import trace
from workshop.trace.views import lot_or_404

CSV = "text/csv; charset=utf-8; header=present"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
JSON_LD = "application/ld+json"


def _file(name: str, content: str | bytes, content_type: str) -> HttpResponse:
    response = HttpResponse(content, content_type=content_type)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


@require_GET
@allow(EVERYONE)
def as_csv(request: Request, code: str) -> HttpResponse:
    found = trace(lot_or_404(code))
    return _file(f"trace-{found.lot.code}.csv", sheet(found), CSV)


@require_GET
@allow(EVERYONE)
def as_workbook(request: Request, code: str) -> HttpResponse:
    found = trace(lot_or_404(code))
    content = workbook.workbook(found, events_of(found))
    return _file(f"trace-{found.lot.code}.xlsx", content, XLSX)


@require_GET
@allow(EVERYONE)
def as_key_data(request: Request, code: str) -> HttpResponse:
    found = trace(lot_or_404(code))
    content = workbook.key_data(events_of(found))
    return _file(f"key-data-{found.lot.code}.xlsx", content, XLSX)


@require_GET
@allow(EVERYONE)
def as_events(request: Request, code: str) -> HttpResponse:
    found = trace(lot_or_404(code))
    base = request.build_absolute_uri("/").rstrip("/")
    content = epcis.document(events_of(found), base=base, at=timezone.now())
    return _file(f"trace-{found.lot.code}.jsonld", content, JSON_LD)


@require_GET
@allow(EVERYONE)
def as_report(request: Request, code: str) -> HttpResponse:
    found = trace(lot_or_404(code))
    made = report_pdf(found, by=request.user, at=timezone.now())
    return pdf_response(f"trace-{found.lot.code}", made)
