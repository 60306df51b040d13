"""Kettles and scales: the list, and the page of each."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from workshop.core.access import EVERYONE, OWNER, WORKERS, Request, allow
from workshop.core.forms import (
    refusals_on,
)
from workshop.core.saving.edit_conflicts import up_to_date
from workshop.kettle.equipment.forms import CleaningForm, KettleForm, ScaleForm
from workshop.kettle.equipment.scale_suitability import as_rule
from workshop.kettle.lists import CLEANINGS
from workshop.kettle.models import Kettle, Scale
from workshop.kettle.services.cleaning import record_cleaning
from workshop.kettle.services.equipment import save_equipment
from workshop.rules.quantities.scales import scale_problems


@require_GET
@allow(EVERYONE)
def equipment(request: Request) -> HttpResponse:
    context = {
        "kettles": Kettle.objects.all(),
        "scales": [(scale, scale_problems(as_rule(scale))) for scale in Scale.objects.all()],
        "may_edit": request.user.role in OWNER,
    }
    return render(request, "kettle/equipment.html", context)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def kettle(request: Request, pk: int | None = None) -> HttpResponse:
    found = get_object_or_404(Kettle, pk=pk) if pk else None
    initial = {"capacity_g": found.capacity_g} if found else {}
    return _saved(request, KettleForm(request.POST or None, instance=found, initial=initial))


@require_http_methods(["GET", "POST"])
@allow(EVERYONE, write=WORKERS)
def cleaning(request: Request, pk: int) -> HttpResponse:
    """The cleanings of a kettle, and one to record."""
    found = get_object_or_404(Kettle, pk=pk)
    form = CleaningForm(request.POST or None)
    if form.is_valid():
        with refusals_on(form):
            record_cleaning(found, **form.values(), by=request.user, at=timezone.now())
            messages.success(request, f"The cleaning of {found} is recorded.")
            return redirect("kettle:cleaning", found.pk)
    context = {
        "kettle": found,
        "form": form if request.user.role in WORKERS else None,
    }
    rows = found.cleanings.select_related("by")
    return CLEANINGS.read(request, rows).answer("kettle/cleaning.html", context)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def scale(request: Request, pk: int | None = None) -> HttpResponse:
    found = get_object_or_404(Scale, pk=pk) if pk else None
    names = ("division_g", "interval_g", "capacity_g")
    initial = {name: getattr(found, name) for name in names} if found else {}
    return _saved(request, ScaleForm(request.POST or None, instance=found, initial=initial))


def _saved(request: Request, form: KettleForm | ScaleForm) -> HttpResponse:
    if form.is_valid():
        with refusals_on(form), up_to_date(form):
            thing = save_equipment(form.instance, by=request.user, at=timezone.now())
            messages.success(request, f"{thing} is saved.")
            return redirect("kettle:equipment")
    heading = (
        str(form.instance) if form.instance.pk else f"A new {form.instance._meta.verbose_name}"
    )
    return render(request, "kettle/equipment_form.html", {"form": form, "heading": heading})
