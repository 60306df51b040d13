"""Wrong passwords are counted in one place, at the door and wherever one is asked for again."""

from typing import Any

from axes.handlers.database import AxesDatabaseHandler
from axes.handlers.proxy import AxesProxyHandler
from axes.models import AccessAttempt
from django import forms
from django.conf import settings
from django.contrib.auth import authenticate
from django.core.exceptions import ValidationError
from django.db.models import Sum
from django.http import HttpRequest

from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.signature import Confirmed

SHUT = (
    "There were too many wrong passwords from this device. Nothing was done. Try again in a "
    "quarter of an hour."
)


class CountedPasswords(AxesDatabaseHandler):  # type: ignore[misc]  # an untyped library
    """Shuts out a name at an address after a few wrong passwords, and an address after many.

    Without the second, one device could try the commonest password on every name in turn.
    """

    def is_locked(self, request: Any, credentials: dict[str, Any] | None = None) -> bool:
        if super().is_locked(request, credentials):
            return True
        since = request.axes_attempt_time - settings.AXES_COOLOFF_TIME
        tries = AccessAttempt.objects.filter(
            ip_address=request.axes_ip_address, attempt_time__gte=since
        ).aggregate(all=Sum("failures_since_start"))
        return (tries["all"] or 0) >= settings.WRONG_PASSWORDS_FROM_ONE_ADDRESS


def confirm_password(
    user: User, password: str, *, request: HttpRequest, field: str | None = "password"
) -> Confirmed:
    """Raise ActionRefused unless this is the user's own password; hand back what proves it.

    A wrong one counts like one at sign-in: after five, name and device are shut out of both for a
    quarter of an hour. Call it outside a transaction, or a refusal takes its count back.
    """
    asked = _without_what_was_sent(request)
    found = authenticate(asked, username=user.get_username(), password=password)
    if getattr(asked, "axes_locked_out", False):
        raise ActionRefused(SHUT, field=field)
    if found != user:
        raise ActionRefused("That is not your password. Nothing was done.", field=field)
    AxesProxyHandler.reset_attempts(
        username=user.get_username(),
        ip_address=asked.axes_ip_address,  # type: ignore[attr-defined]  # set by the library
    )
    return Confirmed(user.pk)


def _without_what_was_sent(request: HttpRequest) -> HttpRequest:
    """The same caller at the same address: what else the form holds must not enter the count."""
    bare = HttpRequest()
    bare.META, bare.path, bare.method = request.META, request.path, request.method
    return bare


class OwnPassword(forms.CharField):
    """The password of whoever is signed in, asked for once more."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("label", "Your password")
        kwargs.setdefault("max_length", 4096)
        kwargs.setdefault("strip", False)
        kwargs.setdefault("widget", forms.PasswordInput(attrs={"autocomplete": "current-password"}))
        super().__init__(**kwargs)


class ConfirmedForm(forms.Form):
    """A form that somebody signs with their own password."""

    password = OwnPassword(help_text="Once more, because this is signed.")

    def __init__(self, *args: Any, request: HttpRequest, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.request = request

    def clean_password(self) -> Confirmed:
        return confirmed(self.request, self.cleaned_data["password"])


def confirmed(request: Any, password: str) -> Confirmed:
    """That the password is right, as a form's check of its field."""
    try:
        return confirm_password(request.user, password, request=request)
    except ActionRefused as error:
        raise ValidationError(error.message) from error
