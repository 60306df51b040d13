"""Forms of recalls and drills."""

from decimal import Decimal
from typing import Any

from crispy_forms.layout import Div, Layout
from django import forms
from django.utils.timezone import localdate

from workshop.aftersales.complaints.forms import meant_field, words_field
from workshop.aftersales.models import (
    WITH_CUSTOMER,
    Depth,
    Hazard,
    Level,
    Means,
    Recall,
    RecallEntryKind,
)
from workshop.core.forms import DayField, ExactField, TokenField, helper
from workshop.dispatch.models import Customer
from workshop.ledger.models import Lot
from workshop.trace.lot.lot_read_from_tin import read_lot

MOST_UNITS = 1_000_000
HAZARDS = [(Hazard.NOT_YET.value, Hazard.NOT_YET.label), *Hazard.choices[:3]]


class NamedLotForm(forms.Form):
    """A form that begins with a lot, by its code, a supplier's lot or a name.

    Where several can be meant the form comes back with all of them to choose from, and with what
    was typed.
    """

    lot = forms.CharField(
        max_length=200,
        help_text="Its code, the supplier's lot, or the name of what is in it.",
        widget=forms.TextInput(
            attrs={
                "autocomplete": "off",
                "autocapitalize": "characters",
                "spellcheck": "false",
                "data-code": True,
            }
        ),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        text = str(self.data.get("lot", "")).strip()
        self.reading = read_lot(text) if text else None
        if self.reading and not self.reading.lot and self.reading.near:
            self.fields["meant"] = meant_field(self.reading)
        self.order_fields(["lot", "meant", "reason", "remedy"])

    def clean_lot(self) -> Lot | None:
        reading = self.reading
        if reading is None or reading.lot:
            return reading.lot if reading else None
        if not reading.near:
            raise forms.ValidationError(reading.sentence)
        return next((lot for lot in reading.near if lot.code == self.data.get("meant")), None)

    def clean(self) -> dict[str, Any]:
        """The lot alone comes out, however it was said which one is meant."""
        values: dict[str, Any] = super().clean() or self.cleaned_data
        values.pop("meant", None)
        return values


class TokenForm(forms.Form):
    token = TokenField()


class TermsFields(forms.Form):
    hazard = forms.ChoiceField(
        choices=HAZARDS,
        required=False,
        label="Hazard, as we see it",
        help_text="21 CFR 7.3. The authority assigns the class; until then no letter names it.",
    )
    depth = forms.ChoiceField(
        choices=Depth.choices,
        initial=Depth.RETAIL,
        label="Depth of recall",
        help_text="21 CFR 7.42(b)(1).",
    )
    level = forms.ChoiceField(
        choices=Level.choices,
        initial=Level.A,
        label="Effectiveness check: how many are contacted",
        help_text="21 CFR 7.42(b)(3).",
    )


def _remedy_field(**values: Any) -> forms.CharField:
    return forms.CharField(
        max_length=300,
        label="What customers get for each unit",
        help_text="It appears in the letters, such as: the price is credited, and we pay the"
        " postage.",
        **values,
    )


class RecallForm(TermsFields, NamedLotForm):
    reason = forms.CharField(
        max_length=300,
        label="What is wrong, and whom it may harm",
        help_text="It appears in the letters to customers: plainly, without personal names.",
    )
    remedy = _remedy_field()
    token = TokenField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["lot"].label = "Lot to begin with"
        self.helper = helper("Put these lots on hold and begin")


class DrillForm(NamedLotForm):
    reason = forms.CharField(
        max_length=300, label="What is supposed to be wrong", initial="Drill: a suspected lot"
    )
    token = TokenField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["lot"].required = False
        self.fields["lot"].help_text += " Left empty, the book picks a lot at random."
        self.helper = helper("Start the clock")


class TermsForm(TermsFields):
    classed_by = forms.CharField(
        max_length=120,
        required=False,
        label="Class assigned by",
        help_text="The authority, once it has assigned the class: then the letters name it.",
    )
    classed_on = DayField(required=False, label="Class assigned on")
    notice_on = DayField(
        label="Letters dated", help_text="The day on which the notice was decided and sent."
    )
    remedy = _remedy_field(required=False)
    words = words_field("Who decided so, and why")
    token = TokenField()

    def __init__(self, *args: Any, recall: Recall, **kwargs: Any) -> None:
        names = ("hazard", "depth", "level", "classed_by", "classed_on", "remedy")
        kwargs["initial"] = {name: getattr(recall, name) for name in names}
        kwargs["initial"]["notice_on"] = recall.notice_on or localdate(recall.started_at)
        super().__init__(*args, **kwargs)
        self.fields["classed_by"].widget.attrs["autocomplete"] = "off"
        self.helper = helper("Save the terms")


class RecallNoteForm(forms.Form):
    words = words_field("What happened")
    token = TokenField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Add it to the log")


def _units(label: str) -> ExactField:
    return ExactField(label=label, places=0, least=0, most=MOST_UNITS, required=False)


class TalkForm(forms.Form):
    """One contact with a customer; nothing is chosen or written beforehand."""

    what = forms.ChoiceField(
        label="Outcome",
        error_messages={"required": "Say whether they were told, not reached, or answered."},
    )
    means = forms.ChoiceField(
        label="How",
        choices=[("", "choose"), *Means.choices],
        error_messages={"required": "Say how: by telephone, e-mail, letter or in person."},
    )
    spoke_with = forms.CharField(label="Who you spoke with", max_length=120, required=False)
    words = words_field(
        "What was said, or how it was tried",
        error_messages={"required": "Write down what was said, or how it was tried."},
    )
    buyers_units = _units("Units whose buyers are notified so far")
    will_return = _units("Units they will send back")
    destroyed = _units("Units destroyed there")
    sold_on = _units("Units sold on or used")
    token = TokenField()

    def __init__(self, *args: Any, recall: Recall, customer: Customer, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        looks = recall.is_drill and customer.stands_for_many
        offered = [entry for entry in WITH_CUSTOMER if entry != RecallEntryKind.LISTED or looks]
        self.fields["what"].choices = [  # type: ignore[attr-defined]  # a choice field's own
            ("", "choose"),
            *((entry.value, entry.label) for entry in offered),
        ]
        units = ["will_return", "destroyed", "sold_on"]
        if looks:
            self.fields["means"].required = False
            self.fields["buyers_units"].label = "Units whose buyers are on the list"
        if customer.stands_for_many:
            units.insert(0, "buyers_units")
        else:
            del self.fields["buyers_units"]
        self.helper = helper("Add it to the log")
        self.helper.layout = Layout(
            Div("what", "means", "spoke_with", css_class="row"),
            "words",
            Div(*units, css_class="row"),
            "token",
        )

    @property
    def talk(self) -> dict[str, Any]:
        """What was typed, with nothing for a number left empty."""
        numbers = ("will_return", "destroyed", "sold_on", "buyers_units")
        values = {name: self.cleaned_data[name] for name in self.fields if name != "token"}
        return values | {
            name: value or Decimal(0) for name, value in values.items() if name in numbers
        }
