"""Forms about complaints."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from crispy_forms.layout import Div, Layout
from django import forms
from django.core.validators import MinValueValidator
from django.utils import timezone

from workshop.aftersales.models import Channel, Complaint, Nature, Outcome, Severity
from workshop.aftersales.services.complaints import LARGEST_TOGETHER_MB, MOST_PHOTOS
from workshop.core.files.uploads import ACCEPT, CheckedFile
from workshop.core.formatting import day as shown_day
from workshop.core.forms import DayField, DocumentField, TokenField, helper
from workshop.dispatch.models import Customer
from workshop.ledger.models import Item, ItemKind, Lot
from workshop.trace.lot.lot_read_from_tin import CodeReading, read_lot, read_lots

AS_READ = "as read"
LONGEST_WORDS = 4000
MOST_LOTS = 50
FIRST_DAY = date(2000, 1, 1)


def words_field(label: str, **values: Any) -> forms.CharField:
    return forms.CharField(
        label=label,
        max_length=LONGEST_WORDS,
        widget=forms.Textarea(attrs={"rows": 3}),
        **values,
    )


def day_field(label: str) -> DayField:
    return DayField(
        label=label,
        initial=timezone.localdate,
        validators=[MinValueValidator(FIRST_DAY, "Check the year.")],
    )


CHOICES: dict[str, list[tuple[str, str]]] = {
    "channel": Channel.choices,
    "nature": Nature.choices,
    "severity": Severity.choices,
}


class SeveralFiles(forms.FileInput):
    allow_multiple_selected = True


class PhotosField(DocumentField):
    """Several PDFs or pictures; a list of `CheckedFile` comes out."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", SeveralFiles(attrs={"accept": ACCEPT}))
        kwargs.setdefault(
            "help_text",
            f"PDF, JPEG or PNG, {MOST_PHOTOS} in all; at most 10 MB each, and "
            f"{LARGEST_TOGETHER_MB} MB at a time.",
        )
        super().__init__(**kwargs)

    def clean(self, data: Any, initial: Any = None) -> list[CheckedFile]:  # type: ignore[override]
        files = data or []
        if len(files) > MOST_PHOTOS:
            raise forms.ValidationError(f"Choose at most {MOST_PHOTOS} photos.")
        if sum(file.size for file in files) > LARGEST_TOGETHER_MB * 1024 * 1024:
            raise forms.ValidationError(
                f"Together they are larger than {LARGEST_TOGETHER_MB} MB. Hand in some of them "
                "now, and the others on the page of the complaint."
            )
        checked = (super(PhotosField, self).clean(file, initial) for file in files)
        return [file for file in checked if file is not None]


class OutcomeField(forms.ChoiceField):
    """Serious or not, by the criteria of the published rule."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("label", "Did any of these occur?")
        kwargs.setdefault("required", False)
        kwargs.setdefault("choices", [("", "none of these"), *Outcome.choices])
        kwargs.setdefault("widget", forms.RadioSelect)
        kwargs.setdefault(
            "help_text",
            "Any of them makes it a serious adverse event. If in doubt, choose it: it can be "
            "reassessed later, with a reason.",
        )
        super().__init__(**kwargs)


class ComplaintForm(forms.ModelForm[Complaint]):
    token = TokenField()
    photos = PhotosField(label="Photos", required=False)

    class Meta:
        model = Complaint
        fields = [
            "channel",
            "received_on",
            "customer",
            "told_by",
            "code_read",
            "product",
            "nature",
            "severity",
            "outcome",
            "description",
        ]
        field_classes = {"outcome": OutcomeField}
        labels = {
            "channel": "How it came",
            "told_by": "Who told you, and how to reach them",
            "code_read": "Lot code, just as it was read from the tin",
        }
        widgets = {"code_read": forms.TextInput(attrs={"data-code": True})}
        help_texts = {
            "told_by": "Only what is needed to answer them.",
            "code_read": "If they have none: the supplier's lot, or the name of the product.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.reading = self._read()
        for name, options in CHOICES.items():
            self.fields[name] = forms.ChoiceField(
                label=self.fields[name].label, choices=[("", "choose"), *options]
            )
        self.fields["received_on"] = day_field("Received on")
        self.fields["outcome"] = OutcomeField()
        self.fields["description"] = words_field("What they say")
        self.fields["customer"] = forms.ModelChoiceField(
            Customer.objects.all(), required=False, empty_label="none of our customers"
        )
        self.fields["product"] = forms.ModelChoiceField(
            Item.objects.of_kind(ItemKind.PRODUCT),
            required=False,
            empty_label="as the lot code says",
        )
        if self.reading and not self.reading.lot and self.reading.near:
            self.fields["meant"] = meant_field(
                self.reading, (AS_READ, "None of these: keep the code as it was read")
            )
        self.order_fields(["channel", "received_on", "customer", "told_by", "code_read", "meant"])
        self.helper = helper("Log the complaint")
        self.helper.layout = Layout(
            Div("channel", "received_on", css_class="row"),
            Div("customer", "told_by", css_class="row"),
            Div("code_read", "product", css_class="row"),
            *(["meant"] if "meant" in self.fields else []),
            Div("nature", "severity", css_class="row"),
            "description",
            "outcome",
            "photos",
            "token",
        )

    def _read(self) -> CodeReading | None:
        text = str(self.data.get("code_read", "")).replace("\x00", "").strip()
        return read_lot(text) if text else None

    @property
    def lots(self) -> list[Lot]:
        """The lot of the code as read, or the one that it was said to mean."""
        if self.reading is None:
            return []
        if self.reading.lot:
            return [self.reading.lot]
        return [lot for lot in self.reading.near if lot.code == self.cleaned_data.get("meant")]


class MeantChoice(forms.RadioSelect):
    """Whoever types the code anew need not choose, so the browser must not insist on it."""

    def use_required_attribute(self, initial: Any) -> bool:
        return False


def meant_field(reading: CodeReading, *others: tuple[str, str]) -> forms.ChoiceField:
    """Which of the lots that can have been meant; nothing is chosen beforehand."""
    near = [(lot.code, f"{lot}, {lot.item}, made {shown_day(lot.made_on)}") for lot in reading.near]
    keep = ", or keep it as read" if others else " one"
    return forms.ChoiceField(
        label="Which lot was meant?",
        choices=[*near, *others],
        widget=MeantChoice,
        error_messages={"required": f"{reading.sentence} Choose{keep}."},
    )


class NoteForm(forms.Form):
    words = words_field("What has become known")
    photos = PhotosField(label="Photos", required=False)
    token = TokenField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Add the note")


class AssessForm(forms.Form):
    findings = words_field("What you found")
    severity = forms.ChoiceField(choices=Severity.choices)
    outcome = OutcomeField()
    lots = forms.CharField(
        label="Lots concerned, one per line",
        required=False,
        max_length=MOST_LOTS * 20,
        widget=forms.Textarea(
            attrs={"rows": 3, "autocomplete": "off", "spellcheck": "false", "data-code": True}
        ),
    )
    token = TokenField()

    def __init__(self, *args: Any, complaint: Complaint, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["severity"].initial = complaint.severity
        self.fields["outcome"].initial = complaint.outcome
        self.fields["lots"].initial = "\n".join(str(lot) for lot in complaint.lots.all())
        self.helper = helper("Save the assessment")

    def clean_lots(self) -> list[Lot]:
        texts = [text for text in self.cleaned_data["lots"].splitlines() if text.strip()]
        if len(texts) > MOST_LOTS:
            raise forms.ValidationError(f"Name at most {MOST_LOTS} lots.")
        readings: Sequence[CodeReading] = read_lots(texts) if texts else []
        wrong = [reading.sentence for reading in readings if reading.lot is None]
        if wrong:
            raise forms.ValidationError(wrong)
        return [reading.lot for reading in readings if reading.lot]


class ReportForm(forms.Form):
    reported_on = day_field("Reported on")
    words = words_field("To whom, how, and under what number", required=False)
    token = TokenField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Note the report")


class AnswerForm(forms.Form):
    words = words_field("What you told them")
    token = TokenField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Note the answer")


class CloseForm(forms.Form):
    cause = words_field(
        "The cause, and what is done about it", help_text="If none was found, say so."
    )
    token = TokenField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Close the complaint")


class ReopenForm(forms.Form):
    words = words_field("Why it is reopened")
    token = TokenField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Reopen")
