"""Pages of organic schemes: what they ask for, what their lists name, what a material is."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from workshop.core.access import EVERYONE, OWNER, Request, allow
from workshop.core.web.edit_views import edit_page
from workshop.ledger.models import ItemKind
from workshop.materials.lists import LIST_ENTRIES
from workshop.materials.models import ListEntry, OrganicScheme, OrganicStatus, Profile
from workshop.materials.organic_forms import ListEntryForm, SchemeForm, StatusForm
from workshop.materials.services.organic import enter_known_rules, save_in_list, save_status


@require_GET
@allow(EVERYONE)
def schemes(request: Request) -> HttpResponse:
    """The schemes kept here and what their lists name."""
    context = {
        "schemes": OrganicScheme.objects.all(),
        "may_edit": request.user.role in OWNER,
    }
    rows = ListEntry.objects.select_related("scheme")
    return LIST_ENTRIES.read(request, rows).answer("materials/organic_schemes.html", context)


@require_POST
@allow(OWNER)
def enter_known(request: Request) -> HttpResponse:
    """Enter what comes with the program and is not entered yet; pressed twice, nothing more."""
    entered = enter_known_rules(by=request.user, at=timezone.now())
    messages.success(request, f"{entered} entered." if entered else "All of it is entered already.")
    return redirect("materials:organic-schemes")


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def edit_scheme(request: Request, pk: int | None = None) -> HttpResponse:
    found = get_object_or_404(OrganicScheme, pk=pk) if pk else None
    heading = f"Edit {found}" if found else "New organic scheme"
    return _edit_list(request, SchemeForm(request.POST or None, instance=found), heading)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def edit_entry(request: Request, pk: int | None = None) -> HttpResponse:
    found = get_object_or_404(ListEntry, pk=pk) if pk else None
    heading = f"Edit {found}" if found else "New entry of a list"
    return _edit_list(request, ListEntryForm(request.POST or None, instance=found), heading)


def _edit_list(request: Request, form: SchemeForm | ListEntryForm, heading: str) -> HttpResponse:
    def save() -> Any:
        row: Any = form.instance
        return save_in_list(row, by=request.user, at=timezone.now())

    return edit_page(
        request, form, save, lambda _: ("materials:organic-schemes",),
        template="materials/edit.html", heading=heading,
    )  # fmt: skip


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def edit_status(request: Request, code: str, pk: int | None = None) -> HttpResponse:
    """What a material, or one part of a blend, is under a scheme from a day on."""
    profile = get_object_or_404(
        Profile.objects.select_related("item"), item__code=code, item__kind=ItemKind.MATERIAL
    )
    found = get_object_or_404(OrganicStatus, pk=pk, profile=profile) if pk else None
    row = found or OrganicStatus(profile=profile)
    form = StatusForm(request.POST or None, request.FILES or None, instance=row, profile=profile)

    def save() -> OrganicStatus:
        return save_status(
            form.status_row(), by=request.user, at=timezone.now(), evidence=form.evidence
        )

    return edit_page(
        request, form, save, lambda _: ("materials:material", code),
        template="materials/edit.html", heading=f"Organic status of {profile.item}",
    )  # fmt: skip
