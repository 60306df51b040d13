"""Form parts every room uses: exact numbers, days, tokens, uploads, and the buttons below."""

from decimal import Decimal, InvalidOperation
from types import TracebackType
from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Div, Submit
from django import forms
from django.core.exceptions import ValidationError
from django.utils.html import format_html
from django.utils.safestring import SafeString

from workshop.core.errors import ActionRefused
from workshop.core.files.uploads import ACCEPT, CheckedFile, checked_file
from workshop.core.saving.new_tokens import new_token

SPACES = str.maketrans("", "", " \u00a0\u2009\u202f'")


def read_decimal(text: str) -> Decimal:
    """A number as people type it: spaces inside, a comma or a point as the decimal mark.

    Raises ValueError with a sentence for anything else.
    """
    bare = text.translate(SPACES).replace("−", "-")
    if "," in bare and "." in bare:
        raise ValueError(f"“{text}” has both a comma and a point; keep only the decimal mark.")
    try:
        number = Decimal(bare.replace(",", "."))
    except InvalidOperation as error:
        raise ValueError(f"“{text}” is not a number.") from error
    if not number.is_finite() or abs(number) > Decimal("1e12"):
        raise ValueError(f"“{text}” is not a number that can be kept.")
    return number


class ExactField(forms.CharField):
    """A number typed with a comma or a point; a `Decimal` comes out."""

    def __init__(
        self,
        *,
        places: int,
        least: Decimal | int | None = None,
        most: Decimal | int | None = None,
        unit: str = "",
        **kwargs: Any,
    ) -> None:
        self.places, self.least, self.most, self.unit = places, least, most, unit
        kwargs.setdefault("max_length", 30)
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal"}))
        super().__init__(**kwargs)

    def clean(self, value: Any) -> Decimal | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            number = read_decimal(text)
        except ValueError as error:
            raise ValidationError(str(error)) from error
        self._refuse_outside(number)
        return number

    def _refuse_outside(self, number: Decimal) -> None:
        unit = f" {self.unit}" if self.unit else ""
        if number != round(number, self.places):
            raise ValidationError(f"Give at most {self.places} decimal places.")
        if self.least is not None and number < self.least:
            raise ValidationError(f"It must be at least {self.least}{unit}.")
        if self.most is not None and number > self.most:
            raise ValidationError(f"It must be at most {self.most}{unit}.")

    def prepare_value(self, value: Any) -> Any:
        return f"{value.normalize():f}" if isinstance(value, Decimal) else value


class DayField(forms.DateField):
    """A calendar day, picked or typed as 2026-11-25."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault(
            "widget",
            forms.DateInput(format="%Y-%m-%d", attrs={"type": "date", "max": "2199-12-31"}),
        )
        kwargs.setdefault("input_formats", ["%Y-%m-%d", "%d %b %Y", "%d %B %Y"])
        kwargs.setdefault("error_messages", {})
        kwargs["error_messages"].setdefault(
            "invalid", "That is not a day of the calendar. Write it as 2026-11-25."
        )
        super().__init__(**kwargs)


class TokenField(forms.CharField):
    """A hidden token made with the form, so that sending it twice does its work once."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("initial", new_token)
        kwargs.setdefault("max_length", 64)
        kwargs.setdefault("widget", forms.HiddenInput)
        super().__init__(**kwargs)


class DocumentField(forms.FileField):
    """A PDF or picture; a `CheckedFile` comes out."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.FileInput(attrs={"accept": ACCEPT}))
        kwargs.setdefault("help_text", "PDF, JPEG or PNG, at most 10 MB.")
        super().__init__(**kwargs)

    def clean(self, data: Any, initial: Any = None) -> CheckedFile | None:
        file = super().clean(data, initial)
        if not file:
            return None
        try:
            return checked_file(file.name, file)
        except ActionRefused as error:
            raise ValidationError(error.message) from error


class Fold(Div):  # type: ignore[misc]  # crispy_forms has no types
    """Fields of one subject, folded away with a count of those filled in; open at a refusal."""

    def __init__(self, subject: str, *fields: Any) -> None:
        super().__init__(*fields)
        self.subject = subject

    def render(self, form: Any, context: Any, *args: Any, **kwargs: Any) -> SafeString:
        inside = self.get_rendered_fields(form, context, *args, **kwargs)
        fields = [form[pointer.name] for pointer in self.get_field_names()]
        filled = sum(field.value() not in (None, "", False) for field in fields)
        return format_html(
            '<details class="room"{}><summary>{}{}</summary>{}</details>',
            " open" if any(field.errors for field in fields) else "",
            self.subject,
            format_html(' <span class="quiet">({} filled in)</span>', filled) if filled else "",
            inside,
        )


def helper(button: str) -> FormHelper:
    """The frame of a form with one button."""
    frame = FormHelper()
    frame.add_input(Submit("send", button))
    return frame


def parts_helper() -> FormHelper:
    """The frame of a form that stands inside another one."""
    frame = FormHelper()
    frame.form_tag = False
    frame.disable_csrf = True
    return frame


def refuse(form: forms.BaseForm, error: ActionRefused) -> None:
    """Put a service's sentence beside the field it is about, or above the form.

    Hidden fields that the error renews are exchanged, so that a second press is on purpose.
    """
    form.add_error(error.field if error.field in form.fields else None, error.message)
    for name, sentence in error.beside.items():
        if name in form.fields:
            form.add_error(name, sentence)
    if error.renewed:
        sent: Any = form.data
        sent = sent.copy()
        for name, value in error.renewed.items():
            sent[form.add_prefix(name)] = value
        form.data = sent


class refusals_on:  # noqa: N801 -- reads as a word of the language: with refusals_on(form):
    """Do something that a service may refuse: the refusal goes onto the form, which is shown again.

        if form.is_valid():
            with refusals_on(form):
                lot = services.count_lot(...)
                messages.success(request, f"Lot {lot} is counted.")
                return redirect("ledger:lot", code=lot.code)
        return render(request, "ledger/act.html", {"form": form})

    A class and not a generator, so that the type checker knows that it goes on behind it.
    """

    def __init__(self, form: forms.BaseForm) -> None:
        self.form = form

    def __enter__(self) -> None:
        return None

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> bool:
        if not isinstance(error, ActionRefused):
            return False
        refuse(self.form, error)
        return True
