"""What is asked before the whole book leaves as a file, and of sheets that come in."""

from collections.abc import Iterator
from typing import Any

from django import forms

from workshop.core.forms import helper, parts_helper
from workshop.core.web.passwords import ConfirmedForm, OwnPassword
from workshop.rules.transfer.written_days import DayOrder
from workshop.transfer.services.take_in import Outcome
from workshop.transfer.spreadsheets.columns import bare


class ExportForm(ConfirmedForm):
    password = OwnPassword(help_text="Once more, because the file holds everything.")
    helper = helper("Export the whole book")


class SheetForm(forms.Form):
    file = forms.FileField(
        label="XLSX or CSV",
        widget=forms.FileInput(attrs={"accept": ".xlsx,.csv,.txt"}),
        help_text="At most 10 MB. First you see what would become of it; nothing is written.",
    )
    helper = helper("Try it")


class KeptSheetForm(forms.Form):
    """What goes along from the dry run to the taking-in."""

    digest = forms.CharField(max_length=64, widget=forms.HiddenInput)
    file_name = forms.CharField(max_length=200, widget=forms.HiddenInput)
    order = forms.ChoiceField(
        label="In days such as 3/4/2026",
        choices=[("", "not said"), *((order.value, f"the {order.value}") for order in DayOrder)],
        required=False,
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = parts_helper()

    @property
    def chosen_order(self) -> DayOrder | None:
        said = self.cleaned_data.get("order")
        return DayOrder(said) if said else None


class ColumnsForm(forms.Form):
    """For each heading that nobody knows: which column it is, or none."""

    def __init__(self, *args: Any, outcome: Outcome, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = parts_helper()
        self.keys: dict[str, tuple[str, str]] = {}
        for number, (kind, heading) in enumerate(_strange(outcome)):
            name = f"column-{number}"
            self.keys[name] = (kind.key, bare(heading)[:80])
            columns = [(column.key, column.heading) for column in kind.columns]
            self.fields[name] = forms.ChoiceField(
                label=f"{kind.title}: “{heading[:60]}”",
                choices=[("", "leave it out"), *columns],
                required=False,
            )

    @property
    def choices(self) -> dict[tuple[str, str], str]:
        return {self.keys[name]: self.cleaned_data.get(name) or "" for name in self.keys}


def _strange(outcome: Outcome) -> Iterator[tuple[Any, str]]:
    for sheet in outcome.sheets:
        if sheet.kind is not None:
            for heading in sheet.strange:
                yield sheet.kind, heading


class TakeBackForm(forms.Form):
    reason = forms.CharField(label="Why it is taken back", max_length=300)
    helper = helper("Take it all back")
