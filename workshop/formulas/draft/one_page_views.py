"""A formula on one page: written, saved as a draft, and ready to be approved."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from workshop.core.access import OWNER, Request, allow
from workshop.core.errors import ActionRefused
from workshop.formulas.draft.one_page_forms import GRAMS, WholeFormulaForm
from workshop.formulas.draft.services import enter_whole
from workshop.ledger.models import Item, ItemKind
from workshop.materials.usual import usual_materials


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def whole(request: Request) -> HttpResponse:
    form = WholeFormulaForm(request.POST or None)
    if form.is_valid():
        try:
            version = enter_whole(
                form.cleaned_data["name"],
                form.lines,
                form.step_lines,
                in_grams=form.cleaned_data["amounts"] == GRAMS,
                expected_loss=form.cleaned_data["expected_loss"],
                shelf_life_months=form.cleaned_data["shelf_life_months"],
                by=request.user,
                at=timezone.now(),
                token=form.cleaned_data["token"],
            )
        except ActionRefused as error:
            field = form.field_of(error.field)
            form.add_error(field if field in form.fields else None, error.message)
        else:
            messages.success(request, f"{version} is a draft. Review it, then approve it.")
            return redirect("formulas:version", pk=version.pk)
    context = {"form": form, "known": _known()}
    return render(request, "formulas/whole.html", context)


def _known() -> list[str]:
    """Names to choose from: the book's own, then usual materials that it does not have."""
    items = Item.objects.active().of_kind(ItemKind.MATERIAL, ItemKind.BULK)
    own = list(items.values_list("name", flat=True))
    have = {name.lower() for name in own}
    return own + [one.name for key, one in usual_materials().items() if key not in have]
