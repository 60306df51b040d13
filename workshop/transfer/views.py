"""Backups as they stand, the whole book as one file, and sheets that come in."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from workshop.core.access import OWNER, Request, allow
from workshop.core.errors import ActionRefused
from workshop.core.files.downloads import XLSX, download
from workshop.core.forms import refusals_on
from workshop.core.models import Role
from workshop.transfer.archive.write import archive
from workshop.transfer.backups import folder
from workshop.transfer.forms import (
    ColumnsForm,
    ExportForm,
    KeptSheetForm,
    SheetForm,
    TakeBackForm,
)
from workshop.transfer.models import SheetImport
from workshop.transfer.services import apart
from workshop.transfer.services import take_in as taking_in
from workshop.transfer.services.take_back import take_back as take_file_back
from workshop.transfer.spreadsheets import read
from workshop.transfer.spreadsheets.templates import workbook

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


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def sheets(request: Request) -> HttpResponse:
    """Bring a file; what comes back is its dry run."""
    form = SheetForm(request.POST or None, request.FILES or None)
    if form.is_valid():
        with refusals_on(form):
            brought = form.cleaned_data["file"]
            digest = read.keep(brought)
            read.sheets(digest)
            kept = KeptSheetForm({"digest": digest, "file_name": brought.name[-200:]})
            return _dry_run(request, kept)
    runs = SheetImport.objects.select_related("by", "taken_back")[:50]
    context = {"form": form, "runs": runs, "last": apart.last_run()}
    return render(request, "transfer/sheets.html", context)


@require_POST
@allow(OWNER)
def try_sheets(request: Request) -> HttpResponse:
    """The dry run once more: with columns named, or with the order of days."""
    return _dry_run(request, KeptSheetForm(request.POST))


def _dry_run(request: Request, kept: KeptSheetForm) -> HttpResponse:
    if not kept.is_valid():
        messages.error(request, "Choose the file again.")
        return redirect("transfer:sheets")
    act: dict[str, Any] = {"by": request.user, "at": timezone.now()}
    try:
        found = read.sheets(kept.cleaned_data["digest"])
        outcome = taking_in.dry_run(found, order=kept.chosen_order, **act)
        columns = ColumnsForm(request.POST if "columns" in request.POST else None, outcome=outcome)
        if columns.is_valid() and columns.choices:
            taking_in.remember_columns(columns.choices, **act)
            outcome = taking_in.dry_run(found, order=kept.chosen_order, **act)
            columns = ColumnsForm(outcome=outcome)
    except ActionRefused as error:
        messages.error(request, error.message)
        return redirect("transfer:sheets")
    context = {"outcome": outcome, "kept": kept, "columns": columns}
    return render(request, "transfer/dry_run.html", context)


@require_POST
@allow(OWNER)
def take_in(request: Request) -> HttpResponse:
    """Begin it, and show how far it is."""
    kept = KeptSheetForm(request.POST)
    if not kept.is_valid():
        return _dry_run(request, kept)
    try:
        is_begun = apart.start(
            kept.cleaned_data["digest"],
            file_name=kept.cleaned_data["file_name"],
            order=kept.chosen_order,
            by=request.user,
            at=timezone.now(),
        )
    except ActionRefused as error:
        messages.error(request, error.message)
        return redirect("transfer:sheets")
    if not is_begun:
        messages.info(request, "One file is taken in at a time; this one is under way.")
    return redirect("transfer:under-way")


@require_GET
@allow(OWNER)
def under_way(request: Request) -> HttpResponse:
    """How far the last file is, and what became of it. Only the bar is asked for again."""
    run = apart.last_run()
    if run is None:
        return redirect("transfer:sheets")
    if request.htmx and not run.is_under_way:
        return HttpResponse(status=204, headers={"HX-Redirect": reverse("transfer:under-way")})
    values = {"digest": run.digest, "file_name": run.file_name, "order": run.order}
    context = {"run": run, "kept": KeptSheetForm(values), "taken_in": run.taken_in}
    template = "transfer/_how_far.html" if request.htmx else "transfer/under_way.html"
    return render(request, template, context)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def take_back(request: Request, pk: int) -> HttpResponse:
    run = get_object_or_404(SheetImport, pk=pk)
    form = TakeBackForm(request.POST or None)
    if form.is_valid():
        with refusals_on(form):
            reason = form.cleaned_data["reason"]
            take_file_back(run, reason=reason, by=request.user, at=timezone.now())
            messages.success(request, f"{run} is taken back.")
            return redirect("transfer:sheets")
    return render(request, "transfer/take_back.html", {"form": form, "run": run})


@require_GET
@allow(OWNER)
def template(_request: Request) -> HttpResponse:
    """A workbook to fill in."""
    return download("tarebook-sheets.xlsx", workbook(), XLSX)
