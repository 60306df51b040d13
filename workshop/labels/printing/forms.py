"""Forms of the labels room: sizes, printing, counting, deciding."""

from typing import Any

from django import forms

from workshop.core.forms import TokenField, helper
from workshop.core.markets import (
    Market,
)
from workshop.labels.content.label import Label
from workshop.labels.layout.label_stock import Layout, all_layouts, layout_of
from workshop.labels.models import DecisionKind
from workshop.labels.printing.sheet_imposition import MOST_LABELS
from workshop.labels.services import usual_layout


def layout_choices() -> list[tuple[str, str]]:
    return [(layout.key, layout.name) for layout in all_layouts()]


class LayoutForm(forms.Form):
    """Which size to look at; sent by GET."""

    layout = forms.ChoiceField(choices=layout_choices, label="Size")

    def chosen(self, label: Label) -> Layout:
        """The size asked for, or the usual one when none or an unknown one is named."""
        found = layout_of(self.cleaned_data["layout"]) if self.is_valid() else None
        return found or usual_layout(label)


def market_asked(asked: str | None) -> str | None:
    """The market named in an address, or None for the workshop's own."""
    return asked if asked in Market.values else None


class PrintForm(forms.Form):
    token = TokenField()
    layout = forms.ChoiceField(choices=layout_choices, label="Size")
    count = forms.IntegerField(label="How many", min_value=1, max_value=MOST_LABELS)
    first_cell = forms.IntegerField(
        label="First cell of the sheet",
        min_value=1,
        max_value=1800,
        initial=1,
        required=False,
        help_text="For a sheet already begun: counted from the upper left, row by row.",
    )
    spoiled = forms.CharField(
        label="Cells to skip",
        max_length=200,
        required=False,
        help_text="Spoiled cells of the first sheet, such as 3, 7.",
    )
    numbered = forms.BooleanField(
        label="Number each label",
        required=False,
        help_text="Its DataMatrix then carries GTIN, date, lot and number.",
    )
    reason = forms.CharField(
        label="Reason for reprint",
        max_length=300,
        required=False,
        help_text="Needed from the second printing of a lot on.",
    )

    def __init__(self, *args: Any, printed_before: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Print and log")
        if printed_before:
            reason = self.fields["reason"]
            reason.help_text = f"Needed: of this lot {printed_before} were printed before."
            # The field itself stays free: the same form pressed twice is answered, not refused.
            reason.widget.attrs["required"] = True

    def clean_spoiled(self) -> frozenset[int]:
        words = self.cleaned_data["spoiled"].replace(",", " ").split()
        if not all(word.isdecimal() and len(word) < 5 for word in words):
            raise forms.ValidationError("Write the numbers of the cells, such as 3, 7.")
        return frozenset(int(word) for word in words)

    def order(self) -> dict[str, Any]:
        """The arguments of `services.print_labels`."""
        values = dict(self.cleaned_data)
        values["layout"] = layout_of(values["layout"])
        values["first_cell"] = values["first_cell"] or 1
        values["spoiled_cells"] = values.pop("spoiled")
        return values


class ReprintForm(forms.Form):
    """Which labels of a printing are printed again, and why."""

    token = TokenField()
    first = forms.IntegerField(label="From label", min_value=1, max_value=MOST_LABELS, initial=1)
    count = forms.IntegerField(label="How many", min_value=1, max_value=MOST_LABELS)
    reason = forms.CharField(
        label="What became of them",
        max_length=300,
        help_text="They keep their numbers. Count the spoiled ones as spoiled.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Print them again")


class LabelCountForm(forms.Form):
    """What became of the labels of a run."""

    token = TokenField()
    used = forms.IntegerField(label="Used on units", initial=0, min_value=-99_999, max_value=99_999)
    spoiled = forms.IntegerField(
        label="Spoiled and destroyed", initial=0, min_value=-99_999, max_value=99_999
    )
    returned = forms.IntegerField(
        label="Returned to stock",
        initial=0,
        min_value=-99_999,
        max_value=99_999,
        help_text="A figure below zero takes back an earlier count.",
    )
    reason = forms.CharField(
        label="Remark", max_length=300, required=False, help_text="Needed for figures below zero."
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Note the count")


class LabelDecisionForm(forms.Form):
    """What an owner does about a label that is untrue of a lot."""

    token = TokenField()
    kind = forms.ChoiceField(
        label="What to do",
        choices=[
            (DecisionKind.MEND, "Correct it: approve a new version from this lot"),
            (DecisionKind.RELABEL, "Relabel: a sticker “new ingredient list” on each unit"),
            (DecisionKind.HOLD, "Hold the lot"),
        ],
        widget=forms.RadioSelect,
    )
    reason = forms.CharField(label="Why", max_length=300)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Decide")


class CartonForm(forms.Form):
    """How a lot goes into cartons."""

    token = TokenField()
    per_carton = forms.IntegerField(label="Units in a carton", min_value=1, max_value=9999)
    cartons = forms.IntegerField(label="How many cartons", min_value=1, max_value=2000)
    reason = forms.CharField(
        label="Reason for reprint",
        max_length=300,
        required=False,
        help_text="Needed when carton labels of this lot were printed before.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Print and log")
