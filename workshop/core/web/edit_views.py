"""The page on which one thing of the master data is entered or changed, for every room."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render

from workshop.core.access import Request
from workshop.core.forms import refusals_on
from workshop.core.saving.edit_conflicts import Watching, up_to_date


def edit_page(
    request: Request,
    form: Watching,
    save: Callable[[], Any],
    page_of_row: Callable[[Any], tuple[int | str, ...]],
    *,
    template: str,
    parts: Any = None,
    **context: Any,
) -> HttpResponse:
    """Show a form; when it is filled in rightly, its `parts` with it, save and show what was saved.

    The page is told whether files were sent with it: it cannot keep them while it is corrected.
    """
    if form.is_valid() and (parts is None or parts.is_valid()):
        with refusals_on(form), up_to_date(form):
            row = save()
            messages.success(request, f"{row} is kept.")
            to, *key = page_of_row(row)
            return redirect(str(to), *key)
    context |= {"form": form, "parts": parts, "files_lost": bool(request.FILES)}
    return render(request, template, context)
