"""Pages of the inspector's pack: ask for one, see how far it is, take it, know it again."""

import re
from typing import Any

from django.http import FileResponse, Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from workshop.audit.views import PROVERS
from workshop.core.access import EVERYONE, Request, allow
from workshop.organic.lists import PACKS
from workshop.organic.models import Pack
from workshop.organic.pack.build import archive_of, begin, job_of, step
from workshop.organic.pack.forms import PackForm


@require_http_methods(["GET", "POST"])
@allow(EVERYONE, write=PROVERS)
def packs(request: Request) -> HttpResponse:
    """Every pack that was made, one to make, and whether a file is one of them."""
    form = PackForm(request.POST or None)
    if form.is_valid():
        token = re.sub(r"[^\w-]", "", form.cleaned_data["token"]) or "pack"
        known = Pack.objects.filter(token=token).first()
        if known:
            return redirect("organic:pack", known.pk)
        if job_of(token) is None:
            seed, lots = form.cleaned_data["seed"], form.cleaned_data["lots"]
            begin(token, form.period, seed=seed, chosen=lots)
        return redirect("organic:pack-work", token)
    asked = request.GET.get("sha256", "").strip().lower()
    context: dict[str, Any] = {
        "form": form if request.user.role in PROVERS else None,
        "asked": asked,
        "known": _of_digest(asked),
    }
    packs = Pack.objects.select_related("by")
    return PACKS.read(request, packs).answer("organic/packs.html", context)


def _of_digest(digest: str) -> Pack | None:
    if not re.fullmatch("[0-9a-f]{64}", digest):
        return None
    one = Pack.objects.filter(sha256=digest) | Pack.objects.filter(paper_sha256=digest)
    return one.first()


@require_http_methods(["GET", "POST"])
@allow(EVERYONE, write=PROVERS)
def work(request: Request, token: str) -> HttpResponse:
    """How far a pack is; sent to, the next step is done."""
    done = Pack.objects.filter(token=token).first()
    if done:
        return _finished(request, done)
    job = job_of(token)
    if job is None:
        raise Http404("No such pack is being made.")
    if request.method == "POST":
        made = step(job, by=request.user, at=timezone.now())
        if made:
            return _finished(request, made)
    template = "organic/_progress.html" if request.htmx else "organic/pack_work.html"
    return render(request, template, {"job": job})


def _finished(request: Request, pack: Pack) -> HttpResponse:
    address = reverse("organic:pack", args=[pack.pk])
    if request.htmx:
        return HttpResponse(status=204, headers={"HX-Redirect": address})
    return redirect(address)


@require_GET
@allow(EVERYONE)
def pack(request: Request, pk: int) -> HttpResponse:
    found = get_object_or_404(Pack.objects.select_related("by"), pk=pk)
    context = {"pack": found, "is_here": archive_of(found).exists()}
    return render(request, "organic/pack.html", context)


@require_GET
@allow(EVERYONE)
def pack_file(request: Request, pk: int) -> HttpResponseBase:
    """The archive, as it was sealed; read from the disk piece by piece."""
    found = get_object_or_404(Pack, pk=pk)
    try:
        kept = archive_of(found).open("rb")
    except OSError as error:
        raise Http404("The file is not kept here any more.") from error
    return FileResponse(kept, as_attachment=True, filename=f"inspection-pack-{found.pk}.zip")
