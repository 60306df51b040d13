"""Today, the scan box, one's own account, and whether the book is up."""

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError, connection
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods, require_safe

from workshop.core.access import EVERYONE, Request, allow
from workshop.front.forms import OwnPasswordForm


@allow(EVERYONE)
@require_GET
def today(request: Request) -> HttpResponse:
    return render(request, "front/today.html", {})


@allow(EVERYONE)
@require_GET
def scan(request: Request) -> HttpResponse:
    return render(request, "front/scan.html", {"asked": request.GET.get("q", "")})


@allow(EVERYONE, write=EVERYONE)
@require_http_methods(["GET", "POST"])
@sensitive_post_parameters()
def account(request: Request) -> HttpResponse:
    form = OwnPasswordForm(request.user, request.POST or None)
    if form.is_valid():
        update_session_auth_hash(request, form.save())
        messages.success(request, "Your password is changed. Other devices must sign in again.")
        return redirect("front:account")
    return render(request, "front/account.html", {"form": form})


@login_not_required
@require_safe
@never_cache
def health(_request: HttpRequest) -> HttpResponse:
    """Plain "ok" when the database answers; nothing else is told to a stranger."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except DatabaseError:
        return HttpResponse("the database does not answer", content_type="text/plain", status=503)
    return HttpResponse("ok", content_type="text/plain")
