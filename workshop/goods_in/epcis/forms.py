"""The page that takes in a delivery from a supplier's EPCIS document: a file, then a dry run."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from crispy_forms.layout import Div, Layout
from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from workshop.core.errors import ActionRefused
from workshop.core.forms import helper, parts_helper
from workshop.goods_in.delivery_checks import RefusedLines, refuse_faults
from workshop.goods_in.epcis.read_delivery import (
    DeliveryLine,
    judged,
    passed_over,
    read_lines,
    with_faults,
)
from workshop.goods_in.epcis.validation import LARGEST_CHARACTERS
from workshop.goods_in.forms import Offer, ReceiptForm, grouped, picking
from workshop.goods_in.named_items import bought_items
from workshop.ledger.models import Item

CHECKS = ("seal_is_good", "smell_is_good", "look_is_good")


class FileForm(forms.Form):
    file = forms.FileField(
        label="The supplier's file",
        help_text="EPCIS 2.0 as JSON-LD, such as other books and most GS1 tools write.",
        widget=forms.FileInput(attrs={"accept": ".jsonld,.json"}),
        error_messages={
            "required": "Choose the file that the supplier sent.",
            "empty": "The file is empty. Ask the supplier to send it again.",
        },
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("Read it")
        self.helper.form_method = "post"

    def clean_file(self) -> str:
        content = self.cleaned_data["file"].read(4 * LARGEST_CHARACTERS + 1)
        try:
            # On one line, since a browser sends every line end back as two characters.
            text = " ".join(content.decode("utf-8-sig").replace("\x00", "").splitlines())
            read_lines(text)
        except UnicodeDecodeError as error:
            raise ValidationError("The file is not text. Ask for EPCIS 2.0 as JSON-LD.") from error
        except ActionRefused as error:
            raise ValidationError(error.message) from error
        return str(text)


class DeliveryForm(ReceiptForm):
    """The head of the receipt, what holds for every lot of it, and what each thing is here."""

    seal_is_good = forms.BooleanField(label="All containers intact", required=False)
    smell_is_good = forms.BooleanField(label="All odours conform", required=False)
    look_is_good = forms.BooleanField(label="All appearances conform", required=False)
    checks_note = forms.CharField(label="What was seen on arrival", max_length=300, required=False)
    repeats_agreed = forms.BooleanField(
        label="Supplier lots that came before are the same again", required=False
    )
    content = forms.CharField(widget=forms.HiddenInput, max_length=LARGEST_CHARACTERS)

    def __init__(self, *args: Any, content: str, **kwargs: Any) -> None:
        super().__init__(*args, offer=Offer.on(timezone.localdate()), **kwargs)
        self.lines = read_lines(content)
        self.passed_over = passed_over(content)
        items = bought_items()
        self.items = {str(item.pk): item for item in items}
        kinds = {pk: (item.get_kind_display(), item.name) for pk, item in self.items.items()}
        self.item_options = grouped(kinds)
        self.kinds = list(dict.fromkeys(line.kind_code for line in self.lines))
        self.fields["content"].initial = content
        guesses = self._guesses()
        for name, kind in self._choices.items():
            self.fields[name] = self._choice(kind, guesses.get(kind))
        head = ("supplier", "received_on", "delivery_note")
        self.helper = parts_helper()
        self.helper.layout = Layout(
            Div(*head, css_class="row"),
            "note",
            Div(*self._choices, css_class="row"),
            "certificate",
            Div(*CHECKS, css_class="row"),
            "checks_note",
            "repeats_agreed",
            "token",
            "content",
        )

    @property
    def _choices(self) -> dict[str, str]:
        return {f"item-{number}": kind for number, kind in enumerate(self.kinds)}

    def _choice(self, kind: str, guess: Item | None) -> forms.TypedChoiceField:
        name = next((line.name for line in self.lines if line.kind_code == kind and line.name), "")
        return forms.TypedChoiceField(
            label=f"{name or 'What'} ({kind[:40]}) is here",
            choices=[("", "choose what it is"), *self.item_options],
            coerce=picking(self.items),
            empty_value=None,
            required=False,
            initial=str(guess.pk) if guess else "",
        )

    def _guesses(self) -> dict[str, Item]:
        """An item of the same code or of the same name as the document's."""
        by_word = {item.name.casefold(): item for item in self.items.values()}
        by_word |= {item.code.casefold(): item for item in self.items.values()}
        found: dict[str, Item] = {}
        for line in self.lines:
            for word in (line.kind_code, line.name):
                if word and word.casefold() in by_word:
                    found.setdefault(line.kind_code, by_word[word.casefold()])
        return found

    def chosen(self) -> dict[str, Item]:
        if not self.is_bound:
            return self._guesses()
        values = {kind: self.cleaned_data.get(name) for name, kind in self._choices.items()}
        return {kind: item for kind, item in values.items() if item}

    def dry_run(self) -> list[DeliveryLine]:
        """Every line with every problem found, nothing written."""
        values = self.cleaned_data if self.is_bound else {}
        lines = judged(self.lines, self.chosen(), _covered(values), **_of_all(values))
        supplier, day = values.get("supplier"), values.get("received_on")
        arrived = [line.arrived for line in lines if line.arrived]
        if not supplier or not day or len(arrived) < len(lines):
            return lines
        agreed = values["repeats_agreed"]
        try:
            refuse_faults(supplier, arrived, received_on=day, repeats_agreed=agreed)
        except RefusedLines as error:
            return with_faults(lines, error.faults)
        return lines


def _of_all(values: Mapping[str, Any]) -> dict[str, Any]:
    checks = {name: bool(values.get(name)) for name in CHECKS}
    note = values.get("checks_note", "")
    return {**checks, "checks_note": note, "certificate": values.get("certificate")}


def _covered(values: Mapping[str, Any]) -> set[int]:
    certificate = values.get("certificate")
    return set(certificate.items.values_list("pk", flat=True)) if certificate else set()


@dataclass(frozen=True)
class Delivery:
    """What `goods_in.services.receive` is called with."""

    head: dict[str, Any] = field(default_factory=dict)
    arrived: Sequence[Any] = ()


def delivery_of(form: DeliveryForm, lines: Sequence[DeliveryLine]) -> Delivery:
    names = ("supplier", "received_on", "delivery_note", "note", "token", "repeats_agreed")
    head = {name: form.cleaned_data[name] for name in names}
    return Delivery(head, [line.arrived for line in lines if line.arrived])
