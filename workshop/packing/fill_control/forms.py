"""Forms of fill control and of samples kept back."""

import re
from decimal import Decimal
from typing import Any

from django import forms

from workshop.core.forms import ExactField, TokenField, helper, parts_helper, read_decimal
from workshop.kettle.models import Scale
from workshop.ledger.services import LARGEST
from workshop.packing.models import FillSample, Reading
from workshop.packing.services.fill_weights import MOST_AT_ONCE

UNIT = re.compile(r"(?<=\d)\s*g\b")


class WeightsField(forms.CharField):
    """One weight, or several with spaces, semicolons or lines between; grams come out."""

    def clean(self, value: Any) -> list[Decimal]:
        text = super().clean(value)
        if not text:
            return []
        bare = UNIT.sub(" ", text.replace("\u202f", "").replace("\u00a0", ""))
        parts = re.split(r"[\s;]+", bare.strip(" ;"))
        if len(parts) > MOST_AT_ONCE:
            raise forms.ValidationError(f"Enter at most {MOST_AT_ONCE} weights at once.")
        return [self._grams(part) for part in parts]

    def _grams(self, part: str) -> Decimal:
        try:
            grams = read_decimal(part)
        except ValueError as error:
            raise forms.ValidationError(
                f"{error} Put spaces between the weights, as in 60.2 60.4."
            ) from error
        if grams <= 0:
            raise forms.ValidationError("A weight is above zero.")
        if grams != round(grams, 3):
            raise forms.ValidationError("Give at most 3 decimal places.")
        return grams


def kind_field(*, required: bool = True) -> forms.ChoiceField:
    return forms.ChoiceField(
        label="What the scale shows",
        choices=Reading.choices,
        initial=Reading.NET,
        required=required,
    )


def weights_field(*, required: bool = True) -> WeightsField:
    return WeightsField(
        label="Weights, g",
        max_length=2000,
        required=required,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
        help_text="One after the other, or several with spaces between, in pouring order.",
    )


def scale_field() -> forms.ModelChoiceField[Scale]:
    return forms.ModelChoiceField(Scale.objects.none(), required=False, empty_label="another scale")


def offer_scales(field: Any) -> None:
    """The scales in use; where there is one only, that one."""
    rows = Scale.objects.filter(is_active=True)
    field.queryset = rows
    first = list(rows[:2])
    field.initial = first[0].pk if len(first) == 1 else None


class WeightsForm(forms.Form):
    """Weights as they come from the scale."""

    token = TokenField()
    kind = kind_field()
    weights = weights_field()
    scale = scale_field()
    # Asked only of an owner who opens a closed run again.
    reason = forms.CharField(
        label="Why the closed record is opened again",
        max_length=300,
        help_text="The run is sealed; with these weights it is sealed again.",
    )
    # Asked only when a weight is far from the fill.
    confirmed = forms.BooleanField(
        label="The weights are unusual and right", required=False, widget=forms.HiddenInput
    )

    def __init__(
        self, *args: Any, amends: bool, last: FillSample | None = None, **kwargs: Any
    ) -> None:
        """`last` is the last weight taken: the same scale and kind come next, most likely."""
        super().__init__(*args, **kwargs)
        offer_scales(self.fields["scale"])
        if last is not None:
            self.fields["kind"].initial, self.fields["scale"].initial = last.kind, last.scale_id
        if not amends:
            del self.fields["reason"]
        self.helper = parts_helper()

    def ask_to_confirm(self) -> None:
        self.fields["confirmed"].widget = forms.CheckboxInput()


class TopUpForm(forms.Form):
    """What the weighed packs hold once every pack of the lot was filled up."""

    token = TokenField()
    weights = weights_field()
    every = forms.BooleanField(
        label="Every pack of the lot was topped up, not only those that were weighed",
        error_messages={
            "required": "Packs that nobody weighed are as short as those that were: top up all."
        },
    )
    note = forms.CharField(max_length=250, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["weights"].label = "Weights now, g, in the same order"
        self.helper = helper("Record the top-up")


class CorrectWeightForm(forms.Form):
    token = TokenField()
    grams = ExactField(
        label="The weight as it was, g",
        places=3,
        least=0,
        most=10_000_000,
        required=False,
        help_text="Left empty, the weight is struck out and counts no more.",
    )
    reason = forms.CharField(label="Why", max_length=300)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Correct it")


def _units_field() -> ExactField:
    return ExactField(places=0, least=1, most=1_000_000)


class RetainForm(forms.Form):
    token = TokenField()
    units = _units_field()
    place = forms.CharField(label="Where they are kept", max_length=60)
    reason = forms.CharField(label="What for", max_length=300, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Retain samples")


class UnpackForm(forms.Form):
    """Units out of their packs again, and what was in them on a scale."""

    token = TokenField()
    units = _units_field()
    grams = ExactField(
        label="Weighed, all of it, g",
        places=3,
        least=Decimal("0.001"),
        most=LARGEST - 1,
        help_text="Without packs and labels: those are gone.",
    )
    reason = forms.CharField(
        label="Why", max_length=300, help_text="Such as: chipped edges, to be grated."
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Unpack them")


class GiveUpForm(forms.Form):
    token = TokenField()
    units = _units_field()
    discarded = forms.TypedChoiceField(
        label="What becomes of them",
        choices=[("yes", "used up or written off"), ("no", "for sale again")],
        coerce=lambda value: value == "yes",
        widget=forms.RadioSelect,
        initial="yes",
    )
    reason = forms.CharField(label="Why", max_length=300)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Release retained samples")
