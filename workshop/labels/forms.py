"""Forms of the labels room."""

from typing import Any

from django import forms

from workshop.core.forms import TokenField, helper
from workshop.labels import layouts
from workshop.labels.content import Label
from workshop.labels.layouts import Layout
from workshop.labels.services import usual_layout
from workshop.labels.sheets import MOST_LABELS

CHOICES = [(layout.key, layout.name) for layout in layouts.ALL]


class LayoutForm(forms.Form):
    """Which size to look at; sent by GET."""

    layout = forms.ChoiceField(choices=CHOICES, label="Size")

    def chosen(self, label: Label) -> Layout:
        """The size asked for, or the usual one when none or an unknown one is named."""
        if self.is_valid():
            return layouts.BY_KEY[self.cleaned_data["layout"]]
        return usual_layout(label)


class PrintForm(forms.Form):
    token = TokenField()
    layout = forms.ChoiceField(choices=CHOICES, label="Size")
    count = forms.IntegerField(label="How many", min_value=1, max_value=MOST_LABELS)
    first_cell = forms.IntegerField(
        label="First cell of the sheet",
        min_value=1,
        max_value=99,
        initial=1,
        required=False,
        help_text="For a sheet already begun: counted from the upper left, row by row.",
    )
    reason = forms.CharField(
        label="Why again",
        max_length=300,
        required=False,
        help_text="Needed when this lot was printed before.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Print and note it")

    def order(self) -> dict[str, Any]:
        """The arguments of `services.print_labels`."""
        values = dict(self.cleaned_data)
        values["layout"] = layouts.BY_KEY[values["layout"]]
        values["first_cell"] = values["first_cell"] or 1
        return values
