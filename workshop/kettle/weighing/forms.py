"""Text in, domain values out: plans and readings."""

from datetime import datetime
from decimal import Decimal
from typing import Any

from crispy_forms.layout import Div, Fieldset, Layout
from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from workshop.core import formatting
from workshop.core.errors import ActionRefused
from workshop.core.forms import ExactField, TokenField, helper
from workshop.core.models import User
from workshop.formulas.models import Version
from workshop.kettle.models import BatchLine, Kettle, Scale
from workshop.kettle.weighing.reading_origin import (
    CLOCK_MAY_RUN_AHEAD,
    MomentField,
    attribution,
)
from workshop.kettle.weighing.screen import lot_by_code, lot_named
from workshop.ledger.models import Lot
from workshop.rules.errors import RuleError
from workshop.rules.quantities.units import parse_mass

LONGEST_NOTE = 300
MISTYPED = "misread or mistyped"
REASONS = [
    MISTYPED,
    "wrong lot",
    "wrong line",
    "spilled",
    "weighed again",
    "entered twice",
]


class MassField(forms.CharField):
    """A mass as people write it (“2 kg”, “950.5”); grams come out, a bare number being grams."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 40)
        kwargs.setdefault("help_text", "In grams, or with its unit: 2.5 kg, 8 oz.")
        super().__init__(**kwargs)

    def clean(self, value: Any) -> Decimal | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            return parse_mass(text if any(map(str.isalpha, text)) else f"{text} g")
        except RuleError as error:
            raise ValidationError(str(error)) from error

    def prepare_value(self, value: Any) -> Any:
        return f"{formatting.number(value)} g" if isinstance(value, Decimal) else value


class LotField(forms.CharField):
    """A lot's code, scanned or typed; the lot comes out."""

    find = staticmethod(lot_by_code)

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 40)
        attrs = {"autocapitalize": "characters", "autocomplete": "off", "spellcheck": "false"}
        kwargs.setdefault("widget", forms.TextInput(attrs={**attrs, "data-code": True}))
        super().__init__(**kwargs)

    def clean(self, value: Any) -> Lot | None:
        text = super().clean(value)
        try:
            return self.find(text) if text else None
        except ActionRefused as error:
            raise ValidationError(error.message) from error


class NamedLotField(LotField):
    """The same, without what the lot holds."""

    find = staticmethod(lot_named)


class VersionField(forms.ModelChoiceField[Version]):
    def label_from_instance(self, version: Version) -> str:
        return f"{version.formula}, version {version.number}"


class PlanForm(forms.Form):
    version = VersionField(
        Version.objects.none(), label="Formula", empty_label="choose an approved version"
    )
    kettle = forms.ModelChoiceField(Kettle.objects.none(), empty_label="choose the kettle")
    scale = forms.ModelChoiceField(Scale.objects.none(), empty_label="choose the scale")
    target_g = MassField(label="All that goes into the kettle", required=False)
    units = ExactField(label="Units wanted", places=0, least=1, most=1_000_000, required=False)
    fill_g = MassField(label="Fill of one unit", required=False)
    expected_loss = ExactField(
        label="Expected loss, %",
        places=4,
        least=0,
        most=99,
        unit="%",
        required=False,
        help_text="What stays in the kettle and on the spoon. Empty: as the formula says.",
    )
    token = TokenField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        versions = Version.objects.approved().filter(formula__is_active=True)
        for name, rows in (
            ("version", versions.select_related("formula").order_by("formula__name")),
            ("kettle", Kettle.objects.filter(is_active=True)),
            ("scale", Scale.objects.filter(is_active=True)),
        ):
            self.fields[name].queryset = rows  # type: ignore[attr-defined]  # a choice of rows
            if len(sole := rows[:2]) == 1:  # nothing to choose
                self.fields[name].initial = sole[0].pk
        self.helper = helper("Plan the batch")
        self.helper.layout = Layout(
            "version",
            Div("kettle", "scale", css_class="row"),
            Fieldset("Grams in all, or units", "target_g", Div("units", "fill_g", css_class="row")),
            "expected_loss",
            "token",
        )

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        in_units = data.get("units") is not None or data.get("fill_g") is not None
        if data.get("target_g") is not None and in_units:
            self.add_error("target_g", "Give either the grams in all or the units, not both.")
        units = data.get("units")
        return {**data, "units": None if units is None else int(units)}


class ReadingForm(forms.Form):
    """One reading at the weigh-up, net or as a running total of the kettle.

    With `running_total_g` goes `kettle_g`, what the device showed as in the kettle before: the
    reading is the difference. `shown_taken_g` is what the device showed as taken for this line;
    `confirmed=yes` says that a reading beyond it is meant, of the figure that was `asked_about`
    where that is told. `ticket` says who weighed, though
    `carrier` is signed in by now. `taken_back` is the token of its reversal, if the reading
    was taken back before it was sent, and `taken_back_by` the ticket of whoever did.
    """

    line = forms.ModelChoiceField(BatchLine.objects.none(), widget=forms.HiddenInput)
    lot = NamedLotField(error_messages={"required": "Choose a lot, or scan its tag."})
    reading_g = ExactField(places=3, unit="g", required=False)
    running_total_g = ExactField(places=3, unit="g", required=False)
    kettle_g = ExactField(places=3, unit="g", required=False)
    shown_taken_g = ExactField(places=3, unit="g", required=False)
    confirmed = forms.CharField(max_length=3, required=False)
    asked_about = forms.CharField(max_length=40, required=False)
    scale = forms.CharField(max_length=20)
    note = forms.CharField(max_length=LONGEST_NOTE, required=False)
    at = MomentField()
    ticket = forms.CharField(max_length=300, required=False)
    taken_back = forms.CharField(max_length=64, required=False)
    taken_back_by = forms.CharField(max_length=300, required=False)
    token = TokenField()

    def __init__(self, *args: Any, reference: str, carrier: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.reference, self.carrier = reference, carrier
        lines = BatchLine.objects.filter(batch__operation__reference=reference)
        lines = lines.select_related(
            "item", *(f"batch__{name}" for name in ("operation", "version", "scale", "kettle"))
        )
        self.fields["line"].queryset = lines  # type: ignore[attr-defined]  # a choice of rows

    def clean_scale(self) -> Scale:
        """The batch's own scale comes with the line; only another one has to be looked for."""
        chosen, line = self.cleaned_data["scale"], self.cleaned_data.get("line")
        if line and str(line.batch.scale_id) == chosen:
            own: Scale = line.batch.scale
            return own
        other: Scale = forms.ModelChoiceField(Scale.objects.all()).clean(chosen)
        return other

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        total, before = data.pop("running_total_g", None), data.pop("kettle_g", None)
        is_back = bool(data.get("taken_back"))
        data["is_confirmed"] = self._is_yes(data) or is_back
        data["kettle_g"], data["by"] = before, data.pop("ticket", None)
        if total is not None:
            self._take_difference(data, total, before)
        elif data.get("reading_g") is None and "reading_g" not in self.errors:
            self.add_error("reading_g", "Type what the scale shows.")
        if is_back:
            data["kettle_g"] = None
        if data["by"] not in (None, self.carrier):
            self._note_carrier(data)
        return data

    def _is_yes(self, data: dict[str, Any]) -> bool:
        """A yes to one figure is none to another that was typed in its place."""
        about, typed = data.pop("asked_about", ""), self.data.get("reading_g", "").strip()
        return data.pop("confirmed", "") == "yes" and about in ("", typed)

    def _note_carrier(self, data: dict[str, Any]) -> None:
        """The note also tells who brought the reading; where one is asked, that is no note."""
        line, note = data.get("line"), data.get("note", "").strip()
        if line and (note or line.batch.is_being_weighed):
            told = f"sent when {self.carrier} was signed in"
            room = LONGEST_NOTE - len(told) - len("; ")
            data["note"] = "; ".join(part for part in (note[:room], told) if part)

    def _take_difference(
        self, data: dict[str, Any], total: Decimal, before: Decimal | None
    ) -> None:
        if data.get("reading_g") is not None:
            self.add_error("reading_g", "Give the net reading or the running total, not both.")
        elif before is None:
            self.add_error(
                "running_total_g",
                "A running total needs what was in the kettle before. Reload the page.",
            )
        elif total <= before:
            self.add_error(
                "running_total_g",
                f"{formatting.with_unit(total, 'g')} is not more than the "
                f"{formatting.with_unit(before, 'g')} in the kettle already. "
                "If the scale was tared, type the net reading.",
            )
        else:
            data |= {"reading_g": total - before, "kettle_g": before}

    def clean_ticket(self) -> User:
        return self._owner("ticket")

    def clean_taken_back_by(self) -> User:
        return self._owner("taken_back_by")

    def _owner(self, name: str) -> User:
        at = self.cleaned_data.get("at") or timezone.now()
        ticket = self.cleaned_data[name]
        try:
            return attribution(ticket, reference=self.reference, carrier=self.carrier, at=at)
        except ActionRefused as error:
            raise ValidationError(error.message) from error

    def clean_at(self) -> datetime:
        at: datetime = self.cleaned_data["at"]
        line = self.cleaned_data.get("line")
        began = line.batch.operation.opened_at if line else at
        if at < began - CLOCK_MAY_RUN_AHEAD:
            raise ValidationError(
                f"This device's clock says {formatting.moment(at)}, before the batch began "
                f"({formatting.moment(began)}). Set the clock, then send the reading again."
            )
        return at


class ReasonForm(forms.Form):
    """Why a reading is taken back: one touch, or words of one's own."""

    reason = forms.ChoiceField(
        label="Why it is taken back",
        choices=[(text, text) for text in [*REASONS, "other"]],
        widget=forms.RadioSelect,
    )
    more = forms.CharField(
        label="In your own words", max_length=250, required=False, help_text="Needed for “other”."
    )
    token = TokenField()
    helper = helper("Take it back")

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        if data.get("reason") == "other" and not data.get("more"):
            self.add_error("more", "Say why.")
        return data

    @property
    def words(self) -> str:
        reason, more = self.cleaned_data["reason"], self.cleaned_data["more"]
        parts = [more] if reason == "other" else [reason, more]
        return ": ".join(part for part in parts if part)


class UnplannedForm(forms.Form):
    lot = LotField(label="Lot", help_text="Scan its tag, or type the code.")
    reading_g = ExactField(label="Reading, g", places=3, unit="g")
    scale = forms.ModelChoiceField(Scale.objects.filter(is_active=True), empty_label=None)
    reason = forms.CharField(
        max_length=300, label="Why it is added", help_text="Such as: too soft in the spoon test."
    )
    token = TokenField()
    helper = helper("Add it")
