"""Formulas, their versions, and the page where a draft is written."""

from functools import partial
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from workshop.core.access import EVERYONE, OWNER, Request, allow
from workshop.core.errors import ActionRefused
from workshop.core.formatting import day
from workshop.core.forms import (
    refusals_on,
    refuse,
)
from workshop.core.paper.pdf import pdf, pdf_response
from workshop.core.saving.edit_conflicts import up_to_date
from workshop.formulas import services
from workshop.formulas.advice import cautions, warnings
from workshop.formulas.comparison.differences import compare
from workshop.formulas.comparison.forms import CompareForm
from workshop.formulas.draft.changes import meanwhile
from workshop.formulas.draft.validation import shares_sentence
from workshop.formulas.forms import BulkForm, Draft, FormulaForm, with_more_rows
from workshop.formulas.lists import BULKS, FORMULAS, VERSIONS
from workshop.formulas.models import Formula, Version, VersionStatus
from workshop.formulas.soap.forms import TypedSoap
from workshop.formulas.soap.planned_superfat import VersionSoap
from workshop.ledger.models import Item, ItemKind


@require_GET
@allow(EVERYONE)
def home(request: Request) -> HttpResponse:
    """Every formula with its approved version and its draft."""
    formulas = Formula.objects.with_versions().select_related("item")
    return FORMULAS.read(request, formulas).answer("formulas/home.html")


@require_GET
@allow(EVERYONE)
def bulks(request: Request) -> HttpResponse:
    items = Item.objects.of_kind(ItemKind.BULK).with_on_hand().prefetch_related("formulas")
    return BULKS.read(request, items).answer("formulas/bulks.html")


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def bulk(request: Request, pk: int | None = None) -> HttpResponse:
    item = get_object_or_404(Item, pk=pk, kind=ItemKind.BULK) if pk else None
    form = BulkForm(request.POST or None, item=item)
    if form.is_valid():
        with refusals_on(form):
            kept = services.save_bulk(**form.cleaned_data, item=item, by=request.user)
            messages.success(request, f"Bulk item {kept.code}, {kept.name}, is saved.")
            return redirect("formulas:bulks")
    return render(request, "formulas/bulk.html", {"form": form, "item": item})


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def edit(request: Request, pk: int | None = None) -> HttpResponse:
    """Begin a formula, or change its name."""
    found = get_object_or_404(Formula, pk=pk) if pk else None
    form = FormulaForm(request.POST or None, formula=found)
    if form.is_valid():
        with refusals_on(form):
            kept = services.save_formula(**form.cleaned_data, formula=found, by=request.user)
            messages.success(request, f"{kept.name} makes {kept.item}.")
            return redirect("formulas:formula", pk=kept.pk)
    return render(request, "formulas/edit.html", {"form": form, "formula": found})


@require_GET
@allow(EVERYONE)
def formula(request: Request, pk: int) -> HttpResponse:
    found = get_object_or_404(Formula.objects.with_versions().select_related("item"), pk=pk)
    versions = found.versions.select_related("made_by", "approved_by")
    newest = versions.first()
    context = {
        "formula": found,
        "like": found.approved_pk or (newest.pk if newest else ""),
    }
    return VERSIONS.read(request, versions).answer("formulas/formula.html", context)


@require_POST
@allow(OWNER)
def begin(request: Request, pk: int) -> HttpResponse:
    """Begin the next draft, like the version in `like` if one is named."""
    found = get_object_or_404(Formula, pk=pk)
    like = request.POST.get("like", "")
    model = (
        found.versions.filter(pk=int(like)).first() if like.isdecimal() and len(like) < 18 else None
    )
    try:
        draft = services.new_version(found, like=model, by=request.user, at=timezone.now())
    except ActionRefused as error:
        messages.error(request, error.message)
        return redirect("formulas:formula", pk=pk)
    return redirect("formulas:draft", pk=draft.pk)


def version_or_404(pk: int) -> Version:
    return get_object_or_404(Version.objects.in_full(), pk=pk)


@require_GET
@allow(EVERYONE)
def version(request: Request, pk: int) -> HttpResponse:
    found = version_or_404(pk)
    others = found.formula.versions.exclude(pk=pk)
    context = {
        **_told(found),
        "before": others.filter(number__lt=found.number).first(),
        "approved": others.approved().first(),
        "draft": others.filter(status=VersionStatus.DRAFT).first(),
    }
    return render(request, "formulas/version.html", context)


def _told(found: Version) -> dict[str, Any]:
    """What the page and the paper say about a version."""
    shares = [line.share for line in found.lines.all()]
    lye = VersionSoap(found)
    return {
        "version": found,
        "formula": found.formula,
        "total": sum(shares),
        "amiss": shares_sentence(shares),
        "soap": lye.soap,
        "strength": lye.strength,
        "unsafe": lye.unsafe,
        "binding": lye.binding,
        "warnings": warnings(found),
        "cautions": cautions(found),
    }


@require_GET
@allow(EVERYONE)
def paper(request: Request, pk: int) -> HttpResponse:
    found = version_or_404(pk)
    context = {**_told(found), "printed_at": timezone.now(), "printed_by": request.user}
    content = pdf("formulas/print/formula.html", context)
    return pdf_response(f"formula-{found.formula_id}-version-{found.number}", content)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def draft(request: Request, pk: int) -> HttpResponse:
    """Write a draft: figures, lines and steps on one page."""
    found = version_or_404(pk)
    if found.status != VersionStatus.DRAFT:
        messages.error(request, services.ONLY_DRAFTS)
        return redirect("formulas:version", pk=pk)
    more = request.POST.get("more")
    typed = with_more_rows(request.POST, more) if more else request.POST or None
    page = Draft(found, typed)
    if not more and typed and page.is_valid():
        try:
            with up_to_date(page.head, partial(meanwhile, found, page.values)):
                services.save_draft(found, **page.values, by=request.user)
        except ActionRefused as error:
            refuse(page.head, error)
        else:
            messages.success(
                request, f"Draft {found.number} is saved. {page.lines.shares_sentence}"
            )
            return redirect("formulas:version", pk=pk)
    context = {"page": page, "version": found, "lye": TypedSoap(page)}
    return render(request, "formulas/draft.html", context)


@require_POST
@allow(OWNER)
def approve(request: Request, pk: int) -> HttpResponse:
    found = version_or_404(pk)
    try:
        done = services.approve(found, by=request.user, at=timezone.now())
    except ActionRefused as error:
        messages.error(request, error.message)
    else:
        today = day(timezone.localdate())
        messages.success(
            request, f"Version {done.number} is approved on {today}; it never changes."
        )
    return redirect("formulas:version", pk=pk)


@require_POST
@allow(OWNER)
def retire(request: Request, pk: int) -> HttpResponse:
    found = version_or_404(pk)
    try:
        services.retire(found, by=request.user, at=timezone.now())
    except ActionRefused as error:
        messages.error(request, error.message)
    else:
        messages.success(request, f"Version {found.number} is retired; no new batch can use it.")
    return redirect("formulas:version", pk=pk)


@require_POST
@allow(OWNER)
def discard(request: Request, pk: int) -> HttpResponse:
    found = version_or_404(pk)
    try:
        services.discard_draft(found, by=request.user)
    except ActionRefused as error:
        messages.error(request, error.message)
    else:
        messages.success(request, f"Draft {found.number} is discarded.")
    return redirect("formulas:formula", pk=found.formula_id)


@require_GET
@allow(EVERYONE)
def comparison(request: Request, pk: int) -> HttpResponse:
    """What changed between two versions of a formula."""
    found = get_object_or_404(Formula, pk=pk)
    form = CompareForm(request.GET or None, found)
    context: dict[str, Any] = {"formula": found, "form": form}
    if form.is_valid():
        before, after = form.cleaned_data["before"], form.cleaned_data["after"]
        context |= {"before": before, "after": after, "changes": compare(before, after)}
    return render(request, "formulas/comparison.html", context)
