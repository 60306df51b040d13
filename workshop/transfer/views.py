"""Backups as they stand, and the whole book as one file."""

from django.http import HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods

from workshop.core.access import OWNER, Request, allow
from workshop.core.models import Role
from workshop.transfer.archive.write import archive
from workshop.transfer.backups import folder
from workshop.transfer.forms import ExportForm

READERS = frozenset({Role.OWNER, Role.INSPECTOR})


@require_GET
@allow(READERS)
def home(request: Request) -> HttpResponse:
    return render(request, "transfer/home.html", {"state": folder.state()})


@require_http_methods(["GET", "POST"])
@allow(OWNER)
@sensitive_post_parameters()
def export(request: Request) -> HttpResponseBase:
    """The file leaves as it is written; a server gives up on a very long one, which is said."""
    form = ExportForm(request.POST or None, request=request)
    if form.is_valid():
        name = f"tarebook-export-{timezone.localdate():%Y-%m-%d}.zip"
        return StreamingHttpResponse(
            archive(),
            content_type="application/zip",
            headers={"Content-Disposition": f'attachment; filename="{name}"'},
        )
    return render(request, "transfer/export.html", {"form": form})
