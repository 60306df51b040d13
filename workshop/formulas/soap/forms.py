"""What the page of a draft says of lye and fats, as typed and before anything is saved."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms

from workshop.core.errors import ActionRefused
from workshop.core.forms import ExactField, parts_helper
from workshop.formulas.forms import Draft
from workshop.formulas.soap.planned_superfat import Part, lye_needed, soap_from, strength_sentences
from workshop.materials.saponification import Soap

ASKED = "lye"
# Common practice, no source: a superfat of 3 to 8 %, a lye of 28 to 38 %.
USUAL = {"superfat": Decimal(5), "strength": Decimal(33)}


class LyeForm(forms.Form):
    """For what superfat the fats of the draft are to be worked out; nothing of it is kept."""

    use_required_attribute = False  # the draft around it can be saved without

    superfat = ExactField(label="Superfat, %", places=2, least=0, most=20, unit="%")
    strength = ExactField(label="Strength of the lye, %", places=2, least=10, most=50, unit="%")

    def __init__(self, data: Any = None) -> None:
        super().__init__(data, prefix="lye", initial=USUAL)
        self.helper = parts_helper()


class LyeSection:
    """The superfat of what is typed, and on request the lye that its fats need."""

    def __init__(self, page: Draft, data: Any = None) -> None:
        self.parts = _typed(page)
        self.soap: Soap | None = soap_from(self.parts)
        self.is_asked = bool(data) and data.get("more") == ASKED
        self.form = LyeForm(data if self.is_asked else None)
        self.needed: list[str] = []
        self.trouble = ""
        if self.is_asked and self.form.is_valid():
            self._work_out()

    def _work_out(self) -> None:
        try:
            self.needed = lye_needed(self.parts, **self.form.cleaned_data)
        except ActionRefused as error:
            self.trouble = error.message

    @property
    def is_open(self) -> bool:
        return self.is_asked or self.soap is not None

    @property
    def strength(self) -> list[str]:
        return strength_sentences(self.soap) if self.soap else []


def _typed(page: Draft) -> Sequence[Part]:
    """The ingredients with a share that can be read, as typed or as kept."""
    if not page.lines.is_bound:
        return [(line.item, line.share) for line in page.version.lines.all()]
    page.lines.is_valid()
    rows = [form.cleaned_data for form in page.lines.forms]
    return [
        (row["item"], row["share"])
        for row in rows
        if row.get("item") and row.get("share") and not row.get("DELETE")
    ]
