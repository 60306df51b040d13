"""What a workshop works with, in one page: a container, a kettle, a scale and a supplier."""

from typing import Any

from crispy_forms.layout import Div, Layout
from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from workshop.core.access import OWNER, Request, allow
from workshop.core.errors import ActionRefused
from workshop.core.forms import parts_helper, refuse
from workshop.front import first_hour
from workshop.front.services import Workplace, keep_workplace
from workshop.goods_in.models import Supplier
from workshop.kettle.equipment.forms import KettleForm, ScaleForm


class PackagingNameForm(forms.Form):
    name = forms.CharField(
        label="It is filled into", max_length=120, help_text="Such as “Tin, 60 g”."
    )


class SupplierNameForm(forms.ModelForm[Supplier]):
    class Meta:
        model = Supplier
        fields = ["name"]
        labels = {"name": "The first delivery comes from"}


# Only what a first label needs; the rest has a default, and its place on the thing's own page.
SHOWN = {
    "packaging": (PackagingNameForm, "Container", ("name",)),
    "kettle": (KettleForm, "Kettle", ("name", "capacity_g", "material")),
    "scale": (ScaleForm, "Scale", ("name", "division_g", "capacity_g")),
    "supplier": (SupplierNameForm, "Supplier", ("name",)),
}


def _forms(data: Any, names: list[str]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name in names:
        kind, _, fields = SHOWN[name]
        form: Any = kind(data, prefix=name)
        for other in set(form.fields) - {*fields, "interval_g"}:
            del form.fields[other]
        form.helper = parts_helper()
        form.helper.layout = Layout(Div(*fields, css_class="row"))
        found[name] = form
    return found


def _given(forms_now: dict[str, Any]) -> Workplace:
    """What the page asked for, as it was typed."""
    names = {
        name: forms_now[name].cleaned_data["name"]
        for name in ("packaging", "supplier")
        if name in forms_now
    }
    things = {name: forms_now[name].instance for name in ("kettle", "scale") if name in forms_now}
    return Workplace(**names, **things)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def workplace(request: Request) -> HttpResponse:
    """Asks for what is not there yet; what is there has pages of its own."""
    sent = request.POST or None
    asked = [name for name in SHOWN if sent and f"{name}-name" in sent]
    forms_now = _forms(sent, asked or first_hour.workplace_lacks())
    sound = [form.is_valid() for form in forms_now.values()]
    if sound and all(sound):
        try:
            kept = keep_workplace(_given(forms_now), by=request.user, at=timezone.now())
        except ActionRefused as error:
            refuse(next(iter(forms_now.values())), error)
        else:
            messages.success(request, f"Kept: {', '.join(kept)}.")
            return redirect("front:start")
    parts = [(SHOWN[name][1], form) for name, form in forms_now.items()]
    return render(request, "front/workplace.html", {"parts": parts})
