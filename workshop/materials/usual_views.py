"""The page of usual materials: search, tick, take."""

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from workshop.core.access import OWNER, Request, allow
from workshop.core.errors import ActionRefused
from workshop.core.web.pagination import asked_for
from workshop.ledger.models import Item, ItemKind
from workshop.materials.services.usual import take_usual
from workshop.materials.usual import named, search

START = "front:start"  # whence they are taken, too


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def usual(request: Request) -> HttpResponse:
    """Usual materials that the book does not have yet; what is ticked is taken in one go."""
    if request.method == "POST":
        return _take(request)
    asked = asked_for(request)
    have = {
        name.lower()
        for name in Item.objects.of_kind(ItemKind.MATERIAL).values_list("name", flat=True)
    }
    found = [(one, one.name.lower() in have) for one in search(asked)]
    return render(request, "materials/usual.html", {"found": found, "q": asked})


def _take(request: Request) -> HttpResponse:
    back = START if request.POST.get("then") == "start" else "materials:usual"
    chosen = [one for one in map(named, request.POST.getlist("take")[:300]) if one is not None]
    if not chosen:
        messages.error(request, "Tick at least one material.")
        return redirect(back)
    try:
        with transaction.atomic():
            taken = [take_usual(one, by=request.user, at=timezone.now()) for one in chosen]
    except ActionRefused as error:
        messages.error(request, error.message)
        return redirect(back)
    names = ", ".join(item.name for item in taken[:6])
    more = f" and {len(taken) - 6} more" if len(taken) > 6 else ""
    messages.success(
        request, f"{names}{more} can be used now. Hold the figures against your data sheets."
    )
    return redirect(back if back == START else "materials:home")
