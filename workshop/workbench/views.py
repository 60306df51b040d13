"""The workbench: which formula, and the bench itself."""

from typing import Any

from django.contrib import messages
from django.db.models import Count
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from workshop.core.access import OWNER, Request, allow
from workshop.core.errors import ActionRefused
from workshop.formulas.models import Formula, VersionStatus
from workshop.workbench.bench_forms import Page, setting_of
from workshop.workbench.lists import FORMULAS
from workshop.workbench.services import keep_as_draft
from workshop.workbench.trial import in_use

PART = "X-Bench"


@require_GET
@allow(OWNER)
def home(request: Request) -> HttpResponse:
    """Every formula in use that has a version."""
    formulas = Formula.objects.with_versions().filter(is_active=True).select_related("item")
    tried = formulas.annotate(how_many=Count("versions")).filter(how_many__gt=0)
    return FORMULAS.read(request, tried).answer("workbench/home.html")


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def bench(request: Request, pk: int) -> HttpResponse:
    """Try another formula beside one that there is; `left` and `right` name the versions."""
    formula = get_object_or_404(Formula.objects.select_related("item"), pk=pk)
    setting = setting_of(formula, _key(request, "left"), _key(request, "right"))
    if setting is None:
        messages.info(request, f"{formula} has no version yet: begin one, then try others here.")
        return redirect("formulas:formula", pk=pk)
    page = Page(setting, request.POST or None, on=timezone.localdate())
    if request.POST.get("keep") and page.is_sound:
        try:
            draft = keep_as_draft(
                setting.right,
                in_use(page.lines),
                by=request.user,
                at=timezone.now(),
                token=str(page.head.initial["token"]),
            )
        except ActionRefused as refused:
            page.refuse(refused)
        else:
            messages.success(request, f"What you tried is kept as draft {draft.number}.")
            return redirect("formulas:version", pk=draft.pk)
    template = "_bench" if request.headers.get(PART) else "bench"
    return render(request, f"workbench/{template}.html", _context(setting, page))


def _key(request: Request, name: str) -> int | None:
    text = request.GET.get(name, "")
    return int(text) if text.isdecimal() and len(text) < 18 else None


def _context(setting: Any, page: Page) -> dict[str, Any]:
    versions = setting.versions
    draft = next((one for one in versions if one.status == VersionStatus.DRAFT), None)
    return {
        "formula": setting.formula,
        "left": setting.left,
        "right": setting.right,
        "versions": versions,
        "draft": draft,
        "is_own_draft": draft is not None and draft.pk == setting.right.pk,
        "next_number": versions[0].number + 1,
        "page": page,
        "said": page.compared,
        "materials": [page.materials.text(item) for item in page.materials.items],
    }
