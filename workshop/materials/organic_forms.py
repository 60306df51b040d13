"""Forms of organic schemes, of what their lists name, and of a material's status."""

from datetime import date
from typing import Any

from crispy_forms.layout import Div, Layout
from django import forms

from workshop.core.files.uploads import CheckedFile
from workshop.core.forms import DayField, DocumentField, ExactField, helper
from workshop.core.saving.edit_conflicts import Watching
from workshop.materials.ingredients import scheme_choices
from workshop.materials.models import (
    ALWAYS,
    LABEL_SCHEME,
    ListEntry,
    OrganicScheme,
    OrganicStatus,
    Profile,
)


class StatusForm(Watching, forms.ModelForm[OrganicStatus]):
    from_day = DayField(
        label="Holds from", required=False, help_text="Leave empty if it held from the first lot."
    )
    searched_on = DayField(label="Searched on", required=False)
    next_review = DayField(label="Next review", required=False)
    document = DocumentField(label="Evidence", required=False)

    class Meta:
        model = OrganicStatus
        fields = ["part_name", "scheme", "status", "annotation", "search", "source"]
        help_texts = {
            "annotation": "What the list says beside its name; or in which way it is prohibited, "
            "such as “irradiated (205.301(f)(3))”."
        }
        widgets = {"search": forms.Textarea(attrs={"rows": 2})}

    def __init__(self, *args: Any, profile: Profile, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.profile = profile
        self._offer(profile)
        for name in ("from_day", "searched_on", "next_review"):
            held = getattr(self.instance, name)
            self.initial[name] = None if held == ALWAYS else held
        self.helper = helper("Save the status")
        self.helper.layout = Layout(
            Div("scheme", "part_name", "from_day", css_class="row"),
            "status",
            "annotation",
            Div("search", "searched_on", css_class="row"),
            Div("source", "next_review", css_class="row"),
            "document",
        )
        if self.instance.pk:
            self.watch(self.instance.history.all())

    def _offer(self, profile: Profile) -> None:
        parts = sorted({part.inci_name for part in profile.parts.all()})
        self.fields["scheme"] = forms.ChoiceField(
            choices=scheme_choices(), initial=self.instance.scheme or LABEL_SCHEME
        )
        self.fields["part_name"] = forms.ChoiceField(
            label="Of what",
            choices=[("", "the material itself"), *((name, name) for name in parts)],
            required=False,
        )

    def clean_from_day(self) -> date:
        return self.cleaned_data.get("from_day") or ALWAYS

    def status_row(self) -> OrganicStatus:
        row = self.instance
        for name in ("from_day", "searched_on", "next_review"):
            setattr(row, name, self.cleaned_data[name])
        return row

    @property
    def evidence(self) -> CheckedFile | None:
        found: CheckedFile | None = self.cleaned_data.get("document")
        return found


class SchemeForm(Watching, forms.ModelForm[OrganicScheme]):
    organic_from = ExactField(label="“Organic” from, %", places=4, least=0, most=100, unit="%")
    made_with_from = ExactField(
        label="“Made with organic” from, %", places=4, least=0, most=100, unit="%"
    )
    tolerance = ExactField(
        label="Unexplained, up to %", places=4, least=0, most=100, unit="%",
        help_text="A balance of mass that misses by more is shown as large. No rule sets a figure.",
    )  # fmt: skip
    known_on = DayField(label="As known on")

    class Meta:
        model = OrganicScheme
        fields = [
            "code", "name", "organic_from", "made_with_from", "tolerance", "source", "known_on",
        ]  # fmt: skip

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Save the scheme")
        if self.instance.pk:
            self.watch(self.instance.history.all())
            # Certificates, lots and statuses keep the code.
            self.fields["code"].disabled = True


class ListEntryForm(Watching, forms.ModelForm[ListEntry]):
    known_on = DayField(label="As known on")

    class Meta:
        model = ListEntry
        fields = ["scheme", "name", "status", "annotation", "source", "known_on"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Save the entry")
        if self.instance.pk:
            self.watch(self.instance.history.all())
