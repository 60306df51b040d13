"""The form of a formula in one page."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from django import forms

from workshop.core.forms import ExactField, TokenField, parts_helper
from workshop.formulas.draft.services import TypedLine

ROWS = 12
PERCENT, GRAMS = "percent", "grams"


class WholeFormulaForm(forms.Form):
    """A name, what goes in and how much, and the steps one per line."""

    name = forms.CharField(max_length=120, help_text="The bulk that it makes gets the same name.")
    amounts = forms.ChoiceField(
        label="Amounts are in",
        choices=[(PERCENT, "percent"), (GRAMS, "grams")],
        initial=PERCENT,
        widget=forms.RadioSelect,
    )
    steps = forms.CharField(
        label="Steps, one per line",
        required=False,
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 5}),
        help_text="Temperatures and times are added to the draft.",
    )
    expected_loss = ExactField(
        places=4, least=0, most=Decimal("99.9999"), unit="%", label="Expected loss, %", initial="2"
    )
    shelf_life_months = forms.IntegerField(
        label="Shelf life, months", min_value=1, max_value=120, initial=12, widget=forms.TextInput
    )
    token = TokenField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = parts_helper()
        for row in range(ROWS):
            self.fields[f"said_{row}"] = forms.CharField(
                label=f"Ingredient {row + 1}",
                max_length=300,
                required=False,
                widget=forms.TextInput(attrs={"list": "known", "autocomplete": "off"}),
            )
            self.fields[f"amount_{row}"] = ExactField(
                label=f"Amount {row + 1}", places=4, least=0, most=10_000_000, required=False
            )

    @property
    def rows(self) -> Iterator[tuple[Any, Any]]:
        for row in range(ROWS):
            yield self[f"said_{row}"], self[f"amount_{row}"]

    def clean(self) -> None:
        lines = 0
        for row in range(ROWS):
            said, amount = self.cleaned_data.get(f"said_{row}"), self._amount(row)
            lines += bool(said)
            if said and not amount and not self.has_error(f"amount_{row}"):
                self.add_error(f"amount_{row}", "Enter the amount.")
            if amount and not said:
                self.add_error(f"said_{row}", "Enter the ingredient.")
        if not lines and not self.errors:
            self.add_error("said_0", "A formula needs at least one ingredient.")

    def _amount(self, row: int) -> Decimal | None:
        found: Decimal | None = self.cleaned_data.get(f"amount_{row}")
        return found

    @property
    def lines(self) -> list[TypedLine]:
        """The rows that are filled in, without gaps."""
        return [
            TypedLine(self.cleaned_data[f"said_{row}"], self.cleaned_data[f"amount_{row}"])
            for row in range(ROWS)
            if self.cleaned_data.get(f"said_{row}")
        ]

    @property
    def step_lines(self) -> list[str]:
        return [line.strip() for line in self.cleaned_data["steps"].splitlines() if line.strip()]

    def field_of(self, line_field: str | None) -> str | None:
        """The field on the page that a line's refusal belongs to, empty rows counted in."""
        if not line_field or not line_field.startswith("said_"):
            return line_field
        filled = [row for row in range(ROWS) if self.cleaned_data.get(f"said_{row}")]
        return f"said_{filled[int(line_field.removeprefix('said_'))]}"
