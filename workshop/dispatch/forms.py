"""Forms of the dispatch room: a customer, a dispatch with its lots, a return."""

from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from typing import Any, cast

from django import forms

from workshop.core.formatting import number
from workshop.core.forms import DayField, ExactField, TokenField, helper, parts_helper
from workshop.core.saving.edit_conflicts import Watching
from workshop.dispatch.dispatch_lines import SentLine
from workshop.dispatch.models import Customer, Dispatch
from workshop.dispatch.services import RefusedLine
from workshop.ledger.models import Item, ItemKind, Lot
from workshop.rules.codes.gs1 import gtin_and_lot
from workshop.rules.codes.lot_codes import is_lot_code, near_misses, normalise_code, show_lot_code

MOST_UNITS = 1_000_000


def units_field(**values: Any) -> ExactField:
    return ExactField(places=0, least=1, most=MOST_UNITS, **values)


class CustomerForm(Watching, forms.ModelForm[Customer]):
    class Meta:
        model = Customer
        fields = [
            "name",
            "contact",
            "address",
            "email",
            "telephone",
            "stands_for_many",
            "buyers_named",
            "is_active",
        ]
        labels = {
            "contact": "Contact",
            "stands_for_many": "Stands for many buyers (web shop, market stall)",
            "buyers_named": "Buyers you can name",
            "is_active": "Active customer",
        }
        help_texts = {
            "stands_for_many": "In a recall its units count as reached only as far as their buyers"
            " are notified.",
            "buyers_named": "How many are on a list with an address, such as the web shop's orders."
            " Leave it empty if there is no list.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["address"].widget.attrs["rows"] = 4
        self.helper = helper("Save the customer")
        if self.instance.pk:
            self.watch(self.instance.history.all())

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("buyers_named") is not None and not cleaned.get("stands_for_many"):
            self.add_error("buyers_named", "Only who stands for many buyers has buyers to name.")
        return cleaned


class DispatchForm(forms.ModelForm[Dispatch]):
    """To whom and when; the lots stand in `LineSet` below it."""

    token = TokenField()

    class Meta:
        model = Dispatch
        fields = ["customer", "sent_on", "customer_reference", "note"]
        field_classes = {"sent_on": DayField}
        widgets = {"sent_on": DayField().widget, "note": forms.Textarea(attrs={"rows": 2})}
        labels = {"customer_reference": "Their order or reference"}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        customers = Customer.objects.active()
        self.fields["customer"] = forms.ModelChoiceField(customers, empty_label="choose a customer")
        self.helper = parts_helper()


class ProposeForm(forms.Form):
    """Ask for lots by product and number of units, instead of naming them."""

    use_required_attribute = False  # it stands inside the form that sends

    product = forms.ModelChoiceField(
        Item.objects.active().of_kind(ItemKind.PRODUCT), empty_label="choose a product"
    )
    wanted = units_field(label="Units wanted")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = parts_helper()


class DispatchLineForm(forms.Form):
    lot = forms.CharField(max_length=200, label="Lot")
    units = units_field(label="Units")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, field in self.fields.items():
            field.widget.attrs.update({"data-line": name, "autocomplete": "off"})

    def clean_lot(self) -> str:
        """The bare code, also out of a carton's code that holds a lot."""
        text: str = self.cleaned_data["lot"]
        carton = gtin_and_lot(text)
        return normalise_code(carton[1] if carton and carton[1] else text)

    @property
    def code(self) -> str:
        return str(self.cleaned_data.get("lot", ""))


class Lines(forms.BaseFormSet[DispatchLineForm]):
    found: dict[str, Lot]

    def initial_form_count(self) -> int:
        """None once sent: a row that was proposed may be emptied like any other."""
        return 0 if self.is_bound else super().initial_form_count()

    def clean(self) -> None:
        """Find all the lots in one query, and help with the codes that are none."""
        filled = [form for form in self.forms if form.has_changed()]
        if not filled:
            raise forms.ValidationError("Enter at least one lot.")
        guesses = {form.code: near_misses(form.code) for form in filled}
        codes = {code for misses in guesses.values() for code in misses} | set(guesses)
        lots = Lot.objects.filter(code__in=codes).select_related("item")
        self.found = {lot.code: lot for lot in lots}
        for form in filled:
            if form.code and form.code not in self.found:
                form.add_error("lot", self._unknown(form.code, guesses[form.code]))

    def _unknown(self, code: str, guesses: list[str]) -> str:
        shown = show_lot_code(code)
        near = [str(self.found[guess]) for guess in guesses if guess in self.found][:3]
        if near:
            return f"There is no lot {shown}. Perhaps {' or '.join(near)}?"
        if is_lot_code(code):
            return f"There is no lot {shown} in the book."
        return f"“{shown}” is not a lot code. Read it again from the tag or the label."

    def lines(self) -> list[tuple[Lot, Decimal]]:
        return [(self.found[form.code], form.cleaned_data["units"]) for form in self._filled()]

    def _filled(self) -> Iterator[DispatchLineForm]:
        yield from (form for form in self.forms if form.cleaned_data)

    def refuse(self, error: RefusedLine) -> None:
        """Put a sentence about one lot beside its (last) row."""
        rows = [form for form in self._filled() if form.code == error.lot.code]
        rows[-1].add_error(error.field, error.message)


LineSet = cast(
    "type[Lines]",
    forms.formset_factory(DispatchLineForm, formset=Lines, extra=5, max_num=100, absolute_max=100),
)


class ArrivalForm(forms.Form):
    """When one dispatch arrived; today unless told otherwise."""

    arrived_on = DayField(label="Arrived on")
    note = forms.CharField(label="Who said so, or how it looked", max_length=300, required=False)
    token = TokenField(required=False)

    def __init__(self, *args: Any, day: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["arrived_on"].initial = day
        self.helper = parts_helper()


class ArrivalsForm(forms.Form):
    """Which of the dispatches on a page arrived, and when."""

    arrived_on = DayField(label="Arrived on")
    dispatches = forms.ModelMultipleChoiceField(
        Dispatch.objects.all(),
        error_messages={
            "required": "Tick the dispatches that arrived.",
            "invalid_choice": "One of them is not a dispatch in this book. Reload the page.",
            "invalid_pk_value": "One of them is not a dispatch in this book. Reload the page.",
        },
    )
    token = TokenField(required=False)

    def __init__(self, *args: Any, day: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["arrived_on"].initial = day
        self.helper = parts_helper()


class WordBackForm(forms.Form):
    """Why the word of an arrival is taken back."""

    reason = forms.CharField(
        label="Why it is taken back",
        max_length=300,
        error_messages={"required": "Say why it is taken back."},
    )
    helper = helper("Take it back")


class ReturnForm(forms.Form):
    """How many of each line came back; the fields are named by the lots' keys."""

    returned_on = DayField(label="Came back on")
    reason = forms.CharField(max_length=300, label="Why it came back")
    token = TokenField()

    def __init__(self, *args: Any, lines: list[SentLine], day: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.line_of = {f"units_{line.lot.pk}": line for line in lines if line.still_out > 0}
        for name, line in self.line_of.items():
            self.fields[name] = units_field(
                required=False,
                label=f"{line.lot}, {line.lot.item}",
                help_text=f"{number(line.still_out)} of {number(line.sent)} are still out.",
            )
        self.fields["returned_on"].initial = day
        self.order_fields([*self.line_of, "returned_on", "reason"])
        self.helper = helper("Record the return")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if not self.errors and not self.lines():
            raise forms.ValidationError("Say how many of which lot came back.")
        return cleaned

    def lines(self) -> list[tuple[Lot, Decimal]]:
        return [
            (line.lot, self.cleaned_data[name])
            for name, line in self.line_of.items()
            if self.cleaned_data.get(name)
        ]
