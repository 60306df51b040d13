"""The page on which a closed record is put right, for every room."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from workshop.core.access import Request
from workshop.core.errors import ActionRefused
from workshop.core.forms import refuse
from workshop.ledger.amendments.forms import AmendForm
from workshop.ledger.models import Correction, Operation
from workshop.ledger.services import InTheWay


def corrections_of(operation: Operation) -> list[Correction]:
    """What was put right in a record, the earliest first."""
    rows = Correction.objects.filter(amendment__operation=operation)
    return list(rows.select_related("amendment__by", "lot").order_by("pk"))


def amend_page(
    request: Request,
    form: AmendForm,
    act: Callable[..., Any],
    *,
    heading: str,
    lead: str,
    said: str,
    back: tuple[str, str],
    in_the_way: InTheWay | None = None,
) -> HttpResponse:
    """Show the form; filled in rightly, do it and go back to the record.

    What stands in the way is named in place of the form, with links.
    """
    if form.is_valid() and not in_the_way:
        try:
            act(**form.cleaned_data, by=request.user, at=timezone.now())
        except InTheWay as error:
            in_the_way = error
        except ActionRefused as error:
            refuse(form, error)
        else:
            messages.success(request, said)
            return redirect(*back)
    context = {
        "form": form,
        "heading": heading,
        "lead": lead,
        "back": back,
        "in_the_way": in_the_way,
    }
    return render(request, "ledger/amend.html", context)
