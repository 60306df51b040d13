"""A file that a page hands over."""

from django.http import HttpResponse

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
CSV = "text/csv; charset=utf-8"
CSV_WITH_HEAD = "text/csv; charset=utf-8; header=present"  # RFC 4180, section 3


def download(name: str, content: str | bytes, content_type: str) -> HttpResponse:
    """The content as a file of that name, to be kept and not shown."""
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return HttpResponse(content, content_type=content_type, headers=headers)
