"""Forms of recalls and drills."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from crispy_forms.layout import Div, Layout
from django import forms

from workshop.core.forms import ExactField, TokenField, helper
from workshop.core.shown import with_unit
from workshop.ledger.models import Lot, Unit
from workshop.trace.complaint_forms import words_field
from workshop.trace.models import (
    WITH_CUSTOMER,
    Depth,
    Entry,
    Hazard,
    Level,
    Means,
    Recall,
    RecallLine,
)
from workshop.trace.reading import read_lot

MOST_UNITS = 1_000_000
MOST_ON_A_SHELF = Decimal("1e9")
HAZARDS = [(Hazard.NOT_YET.value, Hazard.NOT_YET.label), *Hazard.choices[:3]]


class LotField(forms.CharField):
    """A lot by its code, with the near misses named where there is none."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 200)
        kwargs.setdefault(
            "widget",
            forms.TextInput(
                attrs={
                    "autocomplete": "off",
                    "autocapitalize": "characters",
                    "spellcheck": "false",
                    "data-code": True,
                }
            ),
        )
        super().__init__(**kwargs)

    def clean(self, value: Any) -> Lot | None:
        text = super().clean(value)
        if not text:
            return None
        reading = read_lot(text)
        if reading.lot is None:
            raise forms.ValidationError(reading.sentence)
        return reading.lot


class TokenForm(forms.Form):
    token = TokenField()


class TermsFields(forms.Form):
    hazard = forms.ChoiceField(
        choices=HAZARDS,
        required=False,
        label="Class of hazard",
        help_text="21 CFR 7.3. The authority classes it; until then say what you think.",
    )
    depth = forms.ChoiceField(
        choices=Depth.choices,
        initial=Depth.RETAIL,
        label="Depth: down to whom",
        help_text="21 CFR 7.42(b)(1).",
    )
    level = forms.ChoiceField(
        choices=Level.choices,
        initial=Level.A,
        label="Effectiveness check: how many are asked",
        help_text="21 CFR 7.42(b)(3).",
    )


class RecallForm(TermsFields):
    lot = LotField(label="Lot to begin with")
    reason = forms.CharField(
        max_length=300,
        label="What is wrong, and whom it may harm",
        help_text="It stands in the letters to customers: plainly, without names of persons.",
    )
    token = TokenField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.order_fields(["lot", "reason"])
        self.helper = helper("Put these lots on hold and begin")


class DrillForm(forms.Form):
    lot = LotField(
        label="Lot", required=False, help_text="Left empty, the book picks any lot by chance."
    )
    reason = forms.CharField(
        max_length=300, label="What is supposed to be wrong", initial="Drill: a suspected lot"
    )
    token = TokenField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Start the clock")


class TermsForm(TermsFields):
    words = words_field("Who decided so, and why")
    token = TokenField()

    def __init__(self, *args: Any, recall: Recall, **kwargs: Any) -> None:
        kwargs["initial"] = {
            "hazard": recall.hazard,
            "depth": recall.depth,
            "level": recall.level,
        }
        super().__init__(*args, **kwargs)
        self.helper = helper("Keep the terms")


class RecallNoteForm(forms.Form):
    words = words_field("What happened")
    token = TokenField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Write it into the log")


def _units(label: str) -> ExactField:
    return ExactField(label=label, places=0, least=0, most=MOST_UNITS, required=False)


class TalkForm(forms.Form):
    what = forms.ChoiceField(
        label="What came of it",
        choices=[(entry.value, entry.label) for entry in WITH_CUSTOMER],
        initial=Entry.TOLD,
    )
    means = forms.ChoiceField(label="How", choices=Means.choices)
    spoke_with = forms.CharField(label="Whom you spoke with", max_length=120, required=False)
    words = words_field("What was said", required=False)
    will_return = _units("Units they will send back")
    destroyed = _units("Units destroyed there")
    sold_on = _units("Units sold on or used")
    token = TokenField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Write it into the log")
        self.helper.layout = Layout(
            Div("what", "means", "spoke_with", css_class="row"),
            "words",
            Div("will_return", "destroyed", "sold_on", css_class="row"),
            "token",
        )

    @property
    def talk(self) -> dict[str, Any]:
        """What was typed, with nothing for a number left empty."""
        numbers = ("will_return", "destroyed", "sold_on")
        values = {name: self.cleaned_data[name] for name in self.fields if name != "token"}
        return {**values, **{name: values[name] or Decimal(0) for name in numbers}}


class CloseRecallForm(forms.Form):
    """The cause, and how much of each lot was found on its shelf; fields are named by lot."""

    cause = words_field("The cause, and what is done so that it does not happen again")
    token = TokenField()

    def __init__(self, *args: Any, recall: Recall, lines: Iterable[RecallLine], **kwargs: Any):
        super().__init__(*args, **kwargs)
        if recall.is_drill:
            del self.fields["cause"]
        by_name = {f"found_{line.lot.pk}": line for line in lines}
        # What was counted stays, also where the last of a lot left the book in the meantime.
        self.line_of = {
            name: line for name, line in by_name.items() if line.on_hand > 0 or name in self.data
        }
        for name, line in self.line_of.items():
            self.fields[name] = _found_field(line)
        self.order_fields([*self.line_of, "cause"])
        ends = "Stop the clock" if recall.is_drill else "Close the recall"
        self.helper = helper(ends)

    @property
    def found(self) -> dict[int, Decimal]:
        return {
            line.lot.pk: self.cleaned_data[name]
            for name, line in self.line_of.items()
            if self.cleaned_data[name] is not None
        }


def _found_field(line: RecallLine) -> ExactField:
    unit = line.lot.item.unit
    return ExactField(
        label=f"Found of {line.lot}, {line.lot.item}",
        help_text=f"The book says {with_unit(line.on_hand, unit)}."
        " Leave it empty if nobody looked.",
        places=3 if unit == Unit.GRAM else 0,
        least=0,
        most=MOST_ON_A_SHELF,
        unit="g" if unit == Unit.GRAM else "",
        required=False,
    )
