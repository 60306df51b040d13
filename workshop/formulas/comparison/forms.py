"""The form that lays two versions of a formula side by side."""

from typing import Any

from django import forms

from workshop.formulas.models import Formula, Version


class CompareForm(forms.Form):
    """Which two versions of one formula to lay side by side."""

    before = forms.ModelChoiceField(Version.objects.none(), label="From version")
    after = forms.ModelChoiceField(Version.objects.none(), label="To version")

    def __init__(self, data: Any, formula: Formula) -> None:
        super().__init__(data)
        for field in self.fields.values():
            field.queryset = formula.versions.in_full()  # type: ignore[attr-defined]
            field.label_from_instance = lambda version: (  # type: ignore[attr-defined]
                f"{version.number}, {version.get_status_display()}"
            )
            field.error_messages["invalid_choice"] = "Choose a version of this formula."
