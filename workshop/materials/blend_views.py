"""Pages of a bought blend: new parts from a date, and the correction of a set."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from workshop.core import formatting
from workshop.core.access import OWNER, Request, allow
from workshop.core.forms import (
    refusals_on,
)
from workshop.ledger.models import Item
from workshop.materials.forms import BlendForm, parts_of
from workshop.materials.models import ALWAYS, Profile, profile_of
from workshop.materials.services import blends
from workshop.materials.services.blends import Blend, BlendComponent
from workshop.materials.views import bought_or_404


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def new_blend(request: Request, code: str) -> HttpResponse:
    """The supplier changed the blend: other parts, from a day on."""
    item, profile = _material_or_404(code)

    def save(day: date | None, parts: Sequence[BlendComponent]) -> None:
        assert day is not None  # noqa: S101 -- the form asks for it
        at = timezone.now()
        blends.start_blend(profile, parts, from_day=day, by=request.user, at=at)

    return _edit(
        request,
        item,
        BlendForm(request.POST or None, is_new=True),
        blends.latest_parts(profile),
        save,
        {"heading": f"{item}: new parts from a date", "blend": None},
    )


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def correct_blend(request: Request, code: str, day: str) -> HttpResponse:
    """A mistake in the parts of a set, or in its day."""
    item, profile = _material_or_404(code)
    blend = _blend_or_404(profile, day)
    was_from = blend.from_day

    def save(from_day: date | None, parts: Sequence[BlendComponent]) -> None:
        at = timezone.now()
        blends.correct_blend(profile, was_from, parts, from_day=from_day, by=request.user, at=at)

    return _edit(
        request,
        item,
        BlendForm(
            request.POST or None,
            initial={"from_day": None if blend.is_from_the_first else was_from},
        ),
        blend.parts,
        save,
        {"heading": f"{item}: correct its parts", "blend": blend},
    )


def _blend_or_404(profile: Profile, day: str) -> Blend:
    for blend in blends.blends_of(profile):
        if blend.from_day.isoformat() == day:
            return blend
    raise Http404


def _material_or_404(code: str) -> tuple[Item, Profile]:
    item = bought_or_404(code)
    profile = profile_of(item)
    if profile is None:
        raise Http404
    return item, profile


def _edit(
    request: Request,
    item: Item,
    form: BlendForm,
    kept: Sequence[BlendComponent],
    save: Any,
    context: dict[str, Any],
) -> HttpResponse:
    parts = parts_of(request.POST or None, parts=kept)
    if form.is_valid() & parts.is_valid():
        day = form.cleaned_data["from_day"]
        with refusals_on(form):
            save(day, parts.parts())
            messages.success(request, _said(item, day))
            return redirect("materials:material", item.code)
    return render(
        request, "materials/blend.html", {"item": item, "form": form, "parts": parts, **context}
    )


def _said(item: Item, day: date | None) -> str:
    """What now holds, and how many lots are counted by it."""
    found: list[Blend] = blends.blends_of(Profile.objects.get(item=item))
    now = next((one for one in found if one.from_day == (day or ALWAYS)), None)
    if now is None:
        return f"The parts of {item} are kept."
    since = (
        "from the first lot" if now.is_from_the_first else f"from {formatting.day(now.from_day)}"
    )
    lots = f"{now.lot_count} lot{'' if now.lot_count == 1 else 's'}"
    return f"{item}: these parts hold {since}. {lots} of them so far."
