"""Forms of the Set-up page: a person, a new password, the workshop's own details."""

from typing import Any

from django import forms
from django.http import HttpRequest

from workshop.core.forms import helper
from workshop.core.markets import (
    Market,
)
from workshop.core.models import (
    MOST_DAYS_ON_THE_WAY,
    USUAL_DAYS_ON_THE_WAY,
    Role,
    User,
    Workshop,
)
from workshop.core.saving.edit_conflicts import Watching
from workshop.core.signature import Confirmed
from workshop.core.web.passwords import OwnPassword, confirmed
from workshop.rules.codes.sscc import check_company_prefix
from workshop.rules.errors import RuleError

ABOUT_ROLES = (
    "The owner keeps formulas, releases and people; a maker works at the kettle; a packer packs, "
    "labels and sends out; an inspector reads everything and changes nothing."
)
ABOUT_PASSWORDS = "At least 8 characters, not only digits, and nothing easily guessed."


def _new_password(label: str) -> forms.CharField:
    return forms.CharField(
        label=label,
        max_length=200,
        strip=False,
        help_text=ABOUT_PASSWORDS,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )


class PersonForm(forms.Form):
    username = forms.CharField(
        label="Sign-in name",
        max_length=150,
        help_text="Letters, digits and @ . + - _ only.",
        widget=forms.TextInput(attrs={"autocapitalize": "none", "autocomplete": "off"}),
    )
    first_name = forms.CharField(max_length=150, required=False)
    last_name = forms.CharField(max_length=150, required=False)
    role = forms.ChoiceField(choices=Role, initial=Role.MAKER, help_text=ABOUT_ROLES)


class NewPersonForm(PersonForm):
    password = _new_password("First password")

    def __init__(self, data: Any = None) -> None:
        super().__init__(data)
        self.helper = helper("Add this person")


class ChangedPersonForm(Watching, PersonForm):
    is_active = forms.BooleanField(
        label="May sign in",
        required=False,
        help_text="Nobody is ever removed: their name stands in the records they made.",
    )

    def __init__(self, data: Any, person: User) -> None:
        names = ("username", "first_name", "last_name", "role", "is_active")
        super().__init__(data, initial={name: getattr(person, name) for name in names})
        self.helper = helper("Save the changes")
        self.watch(person.history.all())


class NewPasswordForm(forms.Form):
    password = _new_password("New password")
    password_again = forms.CharField(
        label="New password again",
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def __init__(self, data: Any = None) -> None:
        super().__init__(data)
        self.helper = helper("Set the new password")

    def clean_password_again(self) -> str:
        again: str = self.cleaned_data["password_again"]
        if again != self.cleaned_data.get("password", again):
            raise forms.ValidationError("The two passwords differ. Type the same one twice.")
        return again


class OwnNewPasswordForm(NewPasswordForm):
    """One's own new password: whoever finds a device signed in must not be able to set it."""

    present_password = OwnPassword(label="Present password")
    field_order = ("present_password", "password", "password_again")

    def __init__(self, data: Any, *, request: HttpRequest) -> None:
        super().__init__(data)
        self.request = request

    def clean_present_password(self) -> Confirmed:
        return confirmed(self.request, self.cleaned_data["present_password"])


class WorkshopForm(Watching, forms.Form):
    name = forms.CharField(max_length=120)
    address = forms.CharField(
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text="As it must stand on a label, one line below the other.",
    )
    contact = forms.CharField(
        max_length=120,
        required=False,
        help_text="Telephone or electronic contact printed on labels.",
    )
    certified_by = forms.CharField(
        label="Certified by",
        max_length=120,
        required=False,
        help_text="Your own organic certifier, if you are certified.",
    )
    market = forms.ChoiceField(
        choices=Market,
        help_text="Whose label rules are followed. The local authority has the last word.",
    )
    gs1_prefix = forms.CharField(
        label="GS1 company prefix",
        max_length=20,
        required=False,
        help_text="From the certificate that GS1 gave you. With it each carton label carries a "
        "number of its own (SSCC); without it a Code 128 of the lot.",
    )
    days_on_the_way = forms.IntegerField(
        label="Assume delivered after, days",
        min_value=1,
        max_value=MOST_DAYS_ON_THE_WAY,
        initial=USUAL_DAYS_ON_THE_WAY,
        required=False,
        help_text="A dispatch with no word of arrival for this many days is taken as arrived.",
    )

    def __init__(self, data: Any, workshop: Workshop | None) -> None:
        kept = {name: getattr(workshop, name) for name in self.base_fields} if workshop else None
        super().__init__(data, initial=kept)
        self.helper = helper("Save the details")
        if workshop:
            self.watch(workshop.history.all())

    def clean_gs1_prefix(self) -> str:
        typed = self.cleaned_data["gs1_prefix"]
        try:
            return check_company_prefix(typed) if typed else ""
        except RuleError as error:
            raise forms.ValidationError(str(error)) from error

    def clean_days_on_the_way(self) -> int:
        return self.cleaned_data["days_on_the_way"] or USUAL_DAYS_ON_THE_WAY
