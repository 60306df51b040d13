"""The page where a soap is designed."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from workshop.core.access import EVERYONE, OWNER, Request, allow
from workshop.core.errors import ActionRefused
from workshop.core.forms import refuse
from workshop.formulas import services
from workshop.formulas.models import Version, VersionStatus
from workshop.formulas.soap.design import FormulaSoap, bars_of
from workshop.formulas.soap.forms import DesignForm
from workshop.rules.soap.lye import CAUTIONS, LAST_WORD, lye_hazard


@require_http_methods(["GET", "POST"])
@allow(EVERYONE, write=OWNER)
def design(request: Request, pk: int) -> HttpResponse:
    """Work out lye and water for a formula's fats; sent, they go into its draft."""
    version = get_object_or_404(Version.objects.in_full(), pk=pk)
    data = request.POST or (request.GET if "superfat" in request.GET else None)
    form = DesignForm(data, initial={"cure_loss": version.cure_loss or 12})
    context: dict[str, Any] = {"version": version, "form": form, "cautions": CAUTIONS}
    try:
        soap = FormulaSoap(version)
    except ActionRefused as error:
        return render(request, "formulas/design.html", {**context, "trouble": error.message})
    if form.is_valid():
        fats_g = form.cleaned_data["fats_g"]
        try:
            made = soap.designed(fats_g, form.wanted)
            if request.method == "POST":
                _take_over(request, version, soap, form)
                return redirect("formulas:version", pk=pk)
        except ActionRefused as error:
            refuse(form, error)
        else:
            context |= {
                "made": made,
                "rows": soap.rows(fats_g),
                "bars": bars_of(made, form.cleaned_data["label_g"], form.loss),
                "hazard": lye_hazard(made.strength),
                "last_word": LAST_WORD,
                "typed": request.GET.items(),
                "is_draft": version.status == VersionStatus.DRAFT and request.user.role in OWNER,
            }
    return render(request, "formulas/design.html", context)


def _take_over(request: Request, version: Version, soap: FormulaSoap, form: DesignForm) -> None:
    lines = soap.lines_with(form.cleaned_data["fats_g"], form.wanted)
    services.rewrite_lines(
        version, lines, cure_loss=form.cleaned_data["cure_loss"], by=request.user
    )
    messages.success(request, "Lye and water are in the draft; the other shares are in proportion.")
