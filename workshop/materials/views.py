"""Materials and packaging: the list, one of them, changing it; limits on the skin."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from workshop.core import formatting
from workshop.core.access import EVERYONE, OWNER, Request, allow
from workshop.core.web.edit_views import edit_page
from workshop.ledger.models import Item, ItemKind
from workshop.materials.forms import MaterialForm, PackagingForm, UseLimitForm, parts_of
from workshop.materials.ingredients import status_rows
from workshop.materials.lists import MATERIALS
from workshop.materials.models import UseLimit, profile_of
from workshop.materials.saponification import value_of
from workshop.materials.services.blends import blends_of
from workshop.materials.services.materials import Material, material_of, save_material
from workshop.materials.services.use_limits import save_use_limit


@require_GET
@allow(EVERYONE)
def home(request: Request) -> HttpResponse:
    """Materials and packaging."""
    rows = Item.objects.of_kind(ItemKind.MATERIAL, ItemKind.PACKAGING).select_related("profile")
    return MATERIALS.read(request, rows).answer("materials/home.html")


@require_GET
@allow(EVERYONE)
def material(request: Request, code: str) -> HttpResponse:
    found = bought_or_404(code)
    profile = profile_of(found)
    today = timezone.localdate()
    blends = blends_of(profile) if profile else []
    context = {
        "item": found,
        "profile": profile,
        "binds": value_of(profile) if profile else None,
        "blend": next((one for one in blends if one.holds_on(today)), None),
        "other_blends": [one for one in blends if not one.holds_on(today)],
        "today": today,
        "statuses": status_rows(profile, on=today) if profile else [],
        "certificates": found.certificates.with_state(today).select_related("supplier"),
    }
    return render(request, "materials/material.html", context)


def bought_or_404(code: str) -> Item:
    bought = Item.objects.of_kind(ItemKind.MATERIAL, ItemKind.PACKAGING).select_related("profile")
    return get_object_or_404(bought.prefetch_related("profile__parts"), code=code)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def new_material(request: Request) -> HttpResponse:
    return _edit_material(request, None)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def new_packaging(request: Request) -> HttpResponse:
    return _edit_packaging(request, None)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def edit_material(request: Request, code: str) -> HttpResponse:
    found = bought_or_404(code)
    edit = _edit_material if found.kind == ItemKind.MATERIAL else _edit_packaging
    return edit(request, found)


def _edit_packaging(request: Request, found: Item | None) -> HttpResponse:
    form = PackagingForm(
        request.POST or None, material=material_of(found) if found else None, item=found
    )

    def save() -> Item:
        return _keep(request, form.material(), found)

    heading = f"Edit {found}" if found else "New packaging"
    return edit_page(
        request, form, save, _material_page, template="materials/edit.html", heading=heading
    )


def _edit_material(request: Request, found: Item | None) -> HttpResponse:
    kept = material_of(found) if found else None
    form = MaterialForm(request.POST or None, material=kept, item=found)
    parts = parts_of(request.POST or None, parts=kept.parts if kept else ())

    def save() -> Item:
        return _keep(request, form.material(parts.parts()), found)

    heading = f"Edit {found}" if found else "New material"
    return edit_page(
        request, form, save, _material_page, template="materials/edit.html", heading=heading,
        parts=parts, item=found, kept_parts=kept.parts if kept else [],
    )  # fmt: skip


def _keep(request: Request, entry: Material, found: Item | None) -> Item:
    return save_material(entry, by=request.user, at=timezone.now(), item=found)


def _material_page(row: Item) -> tuple[str, str]:
    return "materials:material", row.code


@require_http_methods(["GET", "POST"])
@allow(EVERYONE, write=OWNER)
def use_limits(request: Request, pk: int | None = None) -> HttpResponse:
    """The limits on the skin that previews are held against: the list, and one to enter."""
    found = get_object_or_404(UseLimit, pk=pk) if pk else None
    initial: dict[str, Any] = {"most": found.most} if found else {}
    form = UseLimitForm(request.POST or None, instance=found, initial=initial)
    if form.is_valid():
        limit = save_use_limit(form.instance, by=request.user, at=timezone.now())
        messages.success(
            request, f"At most {formatting.number(limit.most, most=4)} % of {limit.item}."
        )
        return redirect("materials:use-limits")
    context = {
        "limits": UseLimit.objects.select_related("item"),
        "form": form,
        "may_edit": request.user.role in OWNER,
    }
    return render(request, "materials/use_limits.html", context)
