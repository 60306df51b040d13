"""Forms of what brings a melt right again, and of what is kept beside a batch."""

from collections.abc import Sequence
from typing import Any

from crispy_forms.layout import Div, Layout
from django import forms

from workshop.core.forms import DocumentField, ExactField, TokenField, helper
from workshop.formulas.models import Step
from workshop.kettle.models import Batch, BatchLine, TargetChangeKind
from workshop.kettle.weighing.forms import LotField, MassField

PICTURES = ".jpg,.jpeg,.png"


class WayForm(forms.Form):
    """The way a person chose, by the figures they saw."""

    kind = forms.ChoiceField(
        choices=[
            (TargetChangeKind.ACCEPT, "Accept it as it is"),
            (TargetChangeKind.REBALANCE, "Rebalance within tolerance"),
            (TargetChangeKind.RESTORE, "Restore the formula"),
            (TargetChangeKind.SPLIT, "Split part of it off"),
        ],
        label="What is done",
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what is done."},
    )
    poured_off_g = MassField(
        label="Poured off, as weighed",
        required=False,
        help_text="Only for splitting off: stir well, pour off, weigh it without its vessel.",
    )
    reason = forms.CharField(max_length=250, label="Why")
    figures_hash = forms.CharField(max_length=16, widget=forms.HiddenInput)
    token = TokenField()
    helper = helper("Do it")

    def __init__(self, *args: Any, kinds: Sequence[str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        way = self.fields["kind"]
        way.choices = [one for one in way.choices if one[0] in kinds]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        if data.get("kind") == TargetChangeKind.SPLIT and not data.get("poured_off_g"):
            self.add_error("poured_off_g", "Weigh what was poured off.")
        return data


class LineField(forms.ModelChoiceField[BatchLine]):
    def label_from_instance(self, line: BatchLine) -> str:
        return line.item.name


class SpoonForm(forms.Form):
    """What the spoon test asks for, before anything is changed."""

    line = LineField(
        BatchLine.objects.none(), label="Change the share of", empty_label="choose the line"
    )
    points = ExactField(
        label="Change in percentage points",
        places=2,
        least=-50,
        most=50,
        help_text="2 makes it 2 points more of the melt, −2 that much less.",
    )
    adding = LineField(
        BatchLine.objects.none(),
        label="To lower it, add",
        required=False,
        empty_label="not needed to raise it",
    )

    def __init__(self, *args: Any, batch: Batch, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        rows = batch.lines.exclude(formula_line=None).select_related("item")
        for name in ("line", "adding"):
            self.fields[name].queryset = rows  # type: ignore[attr-defined]  # a choice of rows
        self.helper = helper("Work it out")
        self.helper.form_method = "get"
        self.helper.layout = Layout("line", Div("points", "adding", css_class="row"))

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        line, points, adding = data.get("line"), data.get("points"), data.get("adding")
        if points == 0:
            self.add_error("points", "Nothing changes by nothing.")
        elif points and points > 0:
            data["adding"] = line
        elif points and line and adding in (None, line):
            self.add_error("adding", f"Choose what is added so that {line.item} becomes less.")
        return data


class SeenForm(forms.Form):
    """Say why, and do what the page worked out."""

    reason = forms.CharField(max_length=250, label="Why")
    figures_hash = forms.CharField(max_length=16, widget=forms.HiddenInput)
    token = TokenField()

    def __init__(self, *args: Any, button: str = "Set the new target", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper(button)
        self.helper.form_action = ""


class StandInForm(forms.Form):
    """A substitute and its proportion, looked at before it is used."""

    lot = LotField(label="Lot of the substitute")
    ratio = ExactField(
        label="Parts for one part",
        places=3,
        least=0,
        most=10,
        required=False,
        help_text="1 unless the substitute is stronger or weaker.",
    )
    helper = helper("Show what changes")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper.form_method = "get"
        self.helper.layout = Layout(Div("lot", "ratio", css_class="row"))

    def clean_ratio(self) -> Any:
        ratio = self.cleaned_data["ratio"]
        if ratio is not None and ratio == 0:
            raise forms.ValidationError("It must be above zero.")
        return 1 if ratio is None else ratio


class PhotoForm(forms.Form):
    photo = DocumentField(
        label="Photo",
        widget=forms.FileInput(attrs={"accept": PICTURES}),
        help_text="JPEG or PNG, at most 10 MB. Where and how it was taken is left out.",
    )
    shows = forms.CharField(max_length=200, label="What it shows")
    step = forms.ModelChoiceField(
        Step.objects.none(), required=False, empty_label="no step in particular"
    )
    token = TokenField()

    def __init__(self, *args: Any, batch: Batch, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["step"].queryset = batch.version.steps.all()  # type: ignore[attr-defined]
        self.helper = helper("Save the photo")


class TimerForm(forms.Form):
    step = forms.ModelChoiceField(
        Step.objects.none(), required=False, empty_label="no step in particular"
    )
    name = forms.CharField(max_length=80, label="What it is for", required=False)
    minutes = ExactField(label="Minutes", places=0, least=1, most=10_000, required=False)
    token = TokenField()

    def __init__(self, *args: Any, batch: Batch, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["step"].queryset = batch.version.steps.all()  # type: ignore[attr-defined]
        self.helper = helper("Start the timer")
        self.helper.layout = Layout("step", Div("name", "minutes", css_class="row"), "token")

    def clean(self) -> dict[str, Any]:
        """A step brings its own minutes and words unless others are given."""
        data = self.cleaned_data
        step, minutes = data.get("step"), data.get("minutes")
        if minutes is None and step and step.minutes:
            minutes = step.minutes
        if minutes is None and not self.errors:
            self.add_error("minutes", "Give the minutes.")
        name = data.get("name") or (step.text.rstrip(".")[:80] if step else "")
        return {**data, "minutes": None if minutes is None else int(minutes), "name": name}


class EndForm(forms.Form):
    note = forms.CharField(
        max_length=200,
        required=False,
        help_text="Needed when it ran shorter than the step asks for: what was done about it.",
    )
    token = TokenField()
    helper = helper("End the timer")
