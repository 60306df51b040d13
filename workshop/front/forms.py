"""Forms of the front room: sign in, and change one's own password."""

from typing import Any

from django.contrib.auth.forms import AuthenticationForm, PasswordChangeForm

from workshop.core.access import Request
from workshop.core.forms import helper
from workshop.core.web.passwords import confirmed


class SignInForm(AuthenticationForm):
    error_messages = {
        "invalid_login": "Name or password is wrong. Both are case-sensitive.",
        "inactive": "This account is closed. Ask the owner.",
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Sign in")


class OwnPasswordForm(PasswordChangeForm):
    error_messages = {
        **PasswordChangeForm.error_messages,
        "password_mismatch": "The two new passwords differ. Type the same one twice.",
    }

    def __init__(self, *args: Any, request: Request, **kwargs: Any) -> None:
        super().__init__(request.user, *args, **kwargs)
        self.request = request
        self.helper = helper("Change password")
        self.fields["old_password"].label = "Present password"
        self.fields[
            "new_password1"
        ].help_text = "At least 8 characters, not only digits, and nothing easily guessed."
        self.fields["new_password2"].label = "New password again"
        self.fields["new_password2"].help_text = ""

    def clean_old_password(self) -> str:
        confirmed(self.request, self.cleaned_data["old_password"])
        return str(self.cleaned_data["old_password"])
