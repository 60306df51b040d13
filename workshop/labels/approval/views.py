"""Pages of label versions: drafted from a lot or a formula, approved, retired."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from workshop.core.access import EVERYONE, OWNER, Request, allow
from workshop.core.errors import ActionRefused
from workshop.core.formatting import number
from workshop.core.forms import (
    refusals_on,
)
from workshop.core.markets import (
    Market,
)
from workshop.labels.approval import print_status
from workshop.labels.approval.forms import RollForm
from workshop.labels.approval.roll_stock import rolls_of
from workshop.labels.content.label import label_for
from workshop.labels.content.market_terms import terms_of
from workshop.labels.design.forms import LabelDraftForm
from workshop.labels.design.views import product_or_404
from workshop.labels.layout.fit_to_label import draw
from workshop.labels.layout.preview_image import as_source
from workshop.labels.models import LabelVersion, VersionState
from workshop.labels.printing.views import lot_or_404, shown
from workshop.labels.services import usual_layout, versions
from workshop.labels.services.rolls import note_roll
from workshop.rules.labels.worth_a_look import close_neighbours


def version_or_404(pk: int) -> LabelVersion:
    return get_object_or_404(LabelVersion.objects.with_names(), pk=pk)


@require_POST
@allow(OWNER)
def draft(request: Request, code: str, market: str) -> HttpResponse:
    """A new draft from a lot, or without one from the formula."""
    product, at = product_or_404(code), timezone.now()
    if market not in Market.values:
        messages.error(request, "That is not a market known here.")
        return redirect("labels:product", code=code)
    lot_code = request.POST.get("lot", "")
    try:
        if lot_code:
            made = versions.draft_from_lot(lot_or_404(lot_code), market, by=request.user, at=at)
        else:
            made = versions.draft_from_formula(product, market, by=request.user, at=at)
    except ActionRefused as error:
        messages.error(request, error.message)
        return redirect("labels:product", code=code)
    return redirect("labels:version", pk=made.pk)


@require_http_methods(["GET", "POST"])
@allow(EVERYONE, write=OWNER)
def version(request: Request, pk: int) -> HttpResponse:
    """A version as it is; an owner may word a draft anew."""
    found = version_or_404(pk)
    form = LabelDraftForm(request.POST or None, version=found)
    if form.is_valid():
        with refusals_on(form):
            versions.save_draft(
                found, form.words(), order=form.order(), by=request.user, at=timezone.now()
            )
            messages.success(request, f"The draft of {found} is kept.")
            return redirect("labels:version", pk=found.pk)
    own = terms_of([found.product_id]).phrases_of(found.approved_at)
    declaration = print_status.declaration_of(found, own)
    context = {
        "version": found,
        "entries": print_status.entries_of(found),
        "declaration": declaration,
        "close": close_neighbours(declaration),
        "form": form,
        "rolls": rolls_of([found]).get(found.pk, []),
        **_seen(found),
    }
    return shown(request, "labels/version.html", context)


@require_POST
@allow(OWNER)
def typed(request: Request, pk: int) -> HttpResponse:
    """The picture of a draft as it is typed, beside its form; nothing is kept."""
    found = version_or_404(pk)
    form = LabelDraftForm(request.POST, version=found)
    context: dict[str, object] = {"why": "The form is not complete yet."}
    if form.is_valid():
        for name, value in form.words().items():
            setattr(found, name, value)
        by_name = {entry["name"]: entry for entry in found.entries}
        found.entries = [by_name[name] for name in form.order() if name in by_name]
        context = _seen(found)
    return shown(request, "labels/_seen.html", context)


def _seen(found: LabelVersion) -> dict[str, object]:
    """The label on the lot it was made from, and in which ways it is untrue of it."""
    if found.made_from is None:
        return {"why": "There is a picture once it is checked against a lot."}
    try:
        computed = label_for(found.made_from, found.market)
        label = print_status.as_approved(computed, found)
        layout = usual_layout(label)
        picture = as_source(draw(label, layout, preview=True).pdf)
    except ActionRefused as error:
        return {"why": error.message}
    untrue = print_status.discrepancies(computed, found) if found.state == "draft" else ()
    return {"picture": picture, "layout": layout, "untrue": untrue}


@require_POST
@allow(OWNER)
def approve(request: Request, pk: int) -> HttpResponse:
    found = version_or_404(pk)
    try:
        versions.approve(
            found, by=request.user, at=timezone.now(), reason=request.POST.get("reason", "")[:300]
        )
    except ActionRefused as error:
        messages.error(request, error.message)
    else:
        messages.success(request, f"{found} is approved; its words are fixed.")
        _tell_dead_rolls(request, found)
    return redirect("labels:version", pk=pk)


def _tell_dead_rolls(request: Request, approved: LabelVersion) -> None:
    """Which printed rolls carry a label that was approved before and is no longer."""
    former = LabelVersion.objects.filter(
        product=approved.product, market=approved.market, state=VersionState.RETIRED
    )
    dead = [lot for lots in rolls_of(list(former)).values() for lot in lots]
    if dead:
        told = ", ".join(f"{lot} ({number(lot.on_hand)})" for lot in dead)
        messages.warning(
            request,
            f"Printed rolls that carry an earlier label must no longer be used: {told}. "
            "Write them off under Stock, or keep them apart.",
        )


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def roll(request: Request, pk: int) -> HttpResponse:
    """Say which lot of printed rolls or sheets carries this label."""
    found = version_or_404(pk)
    form = RollForm(request.POST or None)
    if form.is_valid():
        with refusals_on(form):
            noted = note_roll(
                form.cleaned_data["lot"],
                found,
                by=request.user,
                at=timezone.now(),
                token=form.cleaned_data["token"],
            )
            messages.success(request, f"Lot {noted.lot} carries {found}.")
            return redirect("labels:version", pk=pk)
    return render(request, "labels/roll.html", {"version": found, "form": form})


@require_POST
@allow(OWNER)
def retire(request: Request, pk: int) -> HttpResponse:
    found = version_or_404(pk)
    try:
        versions.retire(found, by=request.user, at=timezone.now())
    except ActionRefused as error:
        messages.error(request, error.message)
    else:
        messages.success(request, f"{found} is retired: labels are printed as computed.")
    return redirect("labels:version", pk=pk)


@require_POST
@allow(OWNER)
def discard(request: Request, pk: int) -> HttpResponse:
    found = version_or_404(pk)
    code = found.product.item.code
    try:
        versions.discard_draft(found, by=request.user, at=timezone.now())
    except ActionRefused as error:
        messages.error(request, error.message)
        return redirect("labels:version", pk=pk)
    messages.success(request, "The draft is discarded.")
    return redirect("labels:product", code=code)
