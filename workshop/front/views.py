"""Today, the scan box, one's own account, and whether the book is up."""

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError, connection
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods, require_safe

from workshop.core.access import EVERYONE, OWNER, Request, allow
from workshop.core.models import Role
from workshop.core.web.pagination import asked_for
from workshop.curing.rack_picture import on_racks_on
from workshop.curing.release_readiness import on_racks
from workshop.front import first_hour
from workshop.front.action_by_role import acts_for, next_action
from workshop.front.dashboard_lists import WATCH_OF, seen_on
from workshop.front.duties import duties
from workshop.front.forms import OwnPasswordForm
from workshop.front.page_words import pages_by_words
from workshop.front.search import find
from workshop.front.watch_lists import WATCH_LISTS
from workshop.kettle.equipment.contents import what_is_in_them
from workshop.materials.usual import search, usual_materials
from workshop.transfer.backups.folder import state as backup_state

MOST_OFFERED = 8
MOST_RACKS = 6


@allow(EVERYONE)
@require_GET
def today(request: Request) -> HttpResponse:
    is_owner = request.user.role == Role.OWNER
    if is_owner and "stay" not in request.GET and first_hour.is_untouched():
        return redirect("front:start")
    day = timezone.localdate()
    seen, cures = seen_on(day), on_racks()
    first = next_action(request.user.role, seen)
    context = {
        "lacking": first_hour.missing(first_hour.steps())
        if is_owner and not first_hour.is_over()
        else [],
        "seen": seen,
        "day": day,
        "next": first,
        "acts": acts_for(request.user.role, first),
        "duties": duties(day, cures),
        "racks": on_racks_on(cures, day)[:MOST_RACKS],
        "kettles": what_is_in_them(),
        "backups": backup_state() if is_owner else None,
    }
    return render(request, "front/today.html", context)


@allow(OWNER)
@require_GET
def first_steps(request: Request) -> HttpResponse:
    """What an empty book lacks, in order; it can be left and taken up at any time.

    `q` looks for usual materials, to take them in place.
    """
    found = first_hour.steps()
    asked = asked_for(request)
    context = {
        "steps": found,
        "next": next(iter(first_hour.missing(found)), None),
        "sentence": first_hour.sentence(found),
        "q": asked,
        "usual": search(asked)[:MOST_OFFERED] if asked else [],
        "usual_count": len(usual_materials()),
    }
    return render(request, "front/start.html", context)


@allow(EVERYONE)
@require_GET
def watch(request: Request, key: str) -> HttpResponse:
    """One list of Today in full."""
    if key not in WATCH_OF:
        raise Http404("Today has no such list.")
    found, day = WATCH_OF[key], timezone.localdate()
    return (
        WATCH_LISTS[key].read(request, found.rows(day)).answer("front/watch.html", {"watch": found})
    )


@allow(EVERYONE)
@require_GET
def scan(request: Request) -> HttpResponse:
    """Go straight to the one thing meant; offer a list when it may be several, or none."""
    asked = asked_for(request)
    found = find(asked)
    if len(found.exact) == 1:
        return redirect(found.exact[0].address)
    context = {"asked": asked, "found": found, "pages": pages_by_words(asked, request.user)}
    return render(request, "front/scan.html", context)


@allow(EVERYONE, write=EVERYONE)
@require_http_methods(["GET", "POST"])
@sensitive_post_parameters()
def account(request: Request) -> HttpResponse:
    form = OwnPasswordForm(request.POST or None, request=request)
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
