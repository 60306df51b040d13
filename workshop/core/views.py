"""Set-up: people, the workshop itself; and files handed in."""

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.http import FileResponse, Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods

from workshop.core import services
from workshop.core.access import EVERYONE, OWNER, Request, allow
from workshop.core.forms import (
    refusals_on,
)
from workshop.core.lists.people import PEOPLE
from workshop.core.models import Upload, User, Workshop
from workshop.core.people_forms import (
    ChangedPersonForm,
    NewPasswordForm,
    NewPersonForm,
    OwnNewPasswordForm,
    WorkshopForm,
)
from workshop.core.saving.edit_conflicts import up_to_date


@require_GET
@allow(EVERYONE)
def home(request: Request) -> HttpResponse:
    """Where each part of the set-up is kept."""
    context = {
        "workshop": Workshop.objects.filter(pk=1).first(),
        "people": User.objects.filter(is_active=True).count(),
    }
    return render(request, "core/home.html", context)


@require_GET
@allow(EVERYONE)
def people(request: Request) -> HttpResponse:
    return PEOPLE.read(request, User.objects.all()).answer("core/people.html")


@sensitive_post_parameters("password")
@require_http_methods(["GET", "POST"])
@allow(OWNER)
def new_person(request: Request) -> HttpResponse:
    form = NewPersonForm(request.POST or None)
    if form.is_valid():
        with refusals_on(form):
            person = services.add_person(**form.cleaned_data, by=request.user, at=timezone.now())
            said = f"{person} may sign in as {person.username}, {person.get_role_display()}."
            messages.success(request, said)
            return redirect("core:people")
    return render(request, "core/person.html", {"form": form})


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def person(request: Request, pk: int) -> HttpResponse:
    found = get_object_or_404(User, pk=pk)
    form = ChangedPersonForm(request.POST or None, found)
    if form.is_valid():
        with refusals_on(form), up_to_date(form):
            changed = services.change_person(
                found, **form.cleaned_data, by=request.user, at=timezone.now()
            )
            may = "may sign in" if changed.is_active else "may no longer sign in"
            messages.success(request, f"{changed}, {changed.get_role_display()}, {may}.")
            return redirect("core:people")
    return render(request, "core/person.html", {"form": form, "person": found})


@sensitive_post_parameters("present_password", "password", "password_again")
@require_http_methods(["GET", "POST"])
@allow(OWNER)
def password(request: Request, pk: int) -> HttpResponse:
    found = get_object_or_404(User, pk=pk)
    form = _new_password_form(request, found)
    if form.is_valid():
        with refusals_on(form):
            changed = services.set_password(
                found, form.cleaned_data["password"], by=request.user, at=timezone.now()
            )
            if changed == request.user:
                update_session_auth_hash(request, changed)
            messages.success(request, f"{changed} has a new password; tell it to nobody else.")
            return redirect("core:people")
    return render(request, "core/password.html", {"form": form, "person": found})


def _new_password_form(request: Request, person: User) -> NewPasswordForm:
    if person == request.user:
        return OwnNewPasswordForm(request.POST or None, request=request)
    return NewPasswordForm(request.POST or None)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def workshop(request: Request) -> HttpResponse:
    form = WorkshopForm(request.POST or None, Workshop.objects.filter(pk=1).first())
    if form.is_valid():
        with refusals_on(form), up_to_date(form):
            kept = services.save_workshop(**form.cleaned_data, by=request.user, at=timezone.now())
            messages.success(request, f"From now on labels name {kept}.")
            return redirect("core:home")
    return render(request, "core/workshop.html", {"form": form})


@require_GET
@allow(EVERYONE)
def file(request: Request, pk: int) -> FileResponse:
    """A file handed in, only ever as a download: it must not run inside the page."""
    upload = get_object_or_404(Upload, pk=pk)
    try:
        content = upload.file.open("rb")
    except OSError as error:
        raise Http404("The file is no longer in its folder; look for it in the backup.") from error
    return FileResponse(
        content, as_attachment=True, filename=upload.name, content_type=upload.content_type
    )
