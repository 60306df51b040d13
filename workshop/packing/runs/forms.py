"""Forms of the packing room."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone

from workshop.core.formatting import with_unit
from workshop.core.forms import DayField, ExactField, TokenField, helper, parts_helper
from workshop.ledger.models import Lot, Unit
from workshop.packing.fill_control.forms import kind_field, offer_scales, scale_field, weights_field
from workshop.packing.models import Reading
from workshop.packing.run_figures import MOST_UNITS, lot_field
from workshop.packing.runs.lot_offers import LotOffer, LotPicks


class UnitsForm(forms.Form):
    """How many units to pack: begin the run (POST), or write down one that is over (GET)."""

    token = TokenField(required=False)
    units = forms.IntegerField(label="Units to pack", min_value=1, max_value=MOST_UNITS)
    note = forms.CharField(max_length=1000, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = parts_helper()


def _grams_field(label: str, help_text: str) -> ExactField:
    return ExactField(
        label=label, help_text=help_text, places=3, least=0, most=10_000_000, required=False
    )


PACKED = (
    "token",
    "units",
    "spoiled",
    "made_on",
    "note",
    "confirmed",
    "is_short",
    "short_why",
    "spill_g",
    "spill_why",
    "sample_g",
    "sample_why",
    "retained",
    "retained_at",
)


class PackForm(forms.Form):
    """What was packed, with one field for each lot on offer."""

    token = TokenField()
    units = forms.IntegerField(label="Units packed", min_value=1, max_value=MOST_UNITS)
    spoiled = forms.IntegerField(
        label="Containers spoiled", min_value=0, max_value=MOST_UNITS, initial=0
    )
    made_on = DayField(label="Packed on")
    note = forms.CharField(max_length=1000, required=False)
    spill_g = _grams_field("Spilled, g", "Of what was taken; it counts as a loss, not as fill.")
    spill_why = forms.CharField(label="How it was spilled", max_length=250, required=False)
    sample_g = _grams_field("Sample of the bulk, g", "Taken out and filled into no unit.")
    sample_why = forms.CharField(
        label="What the sample is for, and where it is", max_length=250, required=False
    )
    retained = forms.IntegerField(
        label="Units retained as samples",
        min_value=0,
        max_value=MOST_UNITS,
        required=False,
        help_text="They stay in the house and are not for sale.",
    )
    retained_at = forms.CharField(label="Where they are kept", max_length=60, required=False)
    # Asked only when the weight is unusual, so that nobody ticks it by habit.
    confirmed = forms.BooleanField(
        label="The weight is unusual and right", required=False, widget=forms.HiddenInput
    )

    # Asked only when the book is short of the bulk.
    is_short = forms.BooleanField(
        label="The bulk was there: take it below zero on the book",
        required=False,
        widget=forms.HiddenInput,
    )
    short_why = forms.CharField(
        label="Why there was more than the book knows of",
        max_length=250,
        required=False,
        widget=forms.HiddenInput,
    )

    def __init__(self, *args: Any, proposal: LotPicks, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.proposal = proposal
        ticked = self.fields["is_short"].to_python(self["is_short"].value())
        if ticked or self["short_why"].value():
            self.ask_about_shortage()
        self.fields["made_on"].initial = timezone.localdate
        for offer in (*proposal.bulk, *proposal.containers, *proposal.others):
            self.fields[lot_field(offer.lot)] = _taken_field(offer)
        for offer in proposal.bulk:
            self.fields[_left_field_name(offer.lot)] = _left_field(offer)
        self.helper = parts_helper()

    def clean(self) -> dict[str, Any]:
        """What is left in the pot says what was taken, when it was weighed."""
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        for offer in self.proposal.bulk:
            left = cleaned.get(_left_field_name(offer.lot))
            if left is None:
                continue
            if left > offer.lot.on_hand:
                self.add_error(
                    _left_field_name(offer.lot),
                    f"The book knows of {with_unit(offer.lot.on_hand, 'g')} in this lot. "
                    "Enter what was taken, and count the lot.",
                )
            cleaned[lot_field(offer.lot)] = offer.lot.on_hand - left
        return cleaned

    def ask_to_confirm(self) -> None:
        self.fields["confirmed"].widget = forms.CheckboxInput()

    @property
    def asks_to_confirm(self) -> bool:
        return not self.fields["confirmed"].widget.is_hidden

    def ask_about_shortage(self) -> None:
        self.fields["is_short"].widget = forms.CheckboxInput()
        self.fields["short_why"].widget = forms.TextInput()

    @property
    def asks_about_shortage(self) -> bool:
        return not self.fields["is_short"].widget.is_hidden

    def rows(self, offers: Iterable[LotOffer]) -> list[tuple[Lot, forms.BoundField]]:
        return [(offer.lot, self[lot_field(offer.lot)]) for offer in offers]

    @property
    def bulk_rows(self) -> list[tuple[Lot, forms.BoundField, forms.BoundField]]:
        return [
            (lot, field, self[_left_field_name(lot)])
            for lot, field in self.rows(self.proposal.bulk)
        ]

    @property
    def other_rows(self) -> list[tuple[Lot, forms.BoundField]]:
        return self.rows(self.proposal.others)

    @property
    def uses_others(self) -> bool:
        """Whether the fold of other packaging should stand open."""
        return any(field.value() or field.errors for _, field in self.other_rows)

    @property
    def tells_more(self) -> bool:
        """Whether the fold of what was lost or kept back should stand open."""
        names = ("spill_g", "spill_why", "sample_g", "sample_why", "retained", "retained_at")
        return any(self[name].value() or self[name].errors for name in names)

    @property
    def container_rows(self) -> list[tuple[Lot, forms.BoundField]]:
        return self.rows(self.proposal.containers)

    def taken(self, offers: Iterable[LotOffer]) -> list[tuple[Lot, Decimal]]:
        amounts = [(offer.lot, self.cleaned_data[lot_field(offer.lot)]) for offer in offers]
        return [(lot, amount) for lot, amount in amounts if amount]

    def packing(self) -> dict[str, Any]:
        """The arguments of `services.pack`."""
        return {name: self.cleaned_data[name] for name in PACKED} | {
            "bulk": self.taken(self.proposal.bulk),
            "containers": self.taken(self.proposal.containers),
            "others": self.taken(self.proposal.others),
        }


class PackedForm(PackForm):
    """What was packed before anything was written down, with the weights taken on paper."""

    kind = kind_field(required=False)
    weights = weights_field(required=False)
    scale = scale_field()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offer_scales(self.fields["scale"])

    @property
    def tells_weights(self) -> bool:
        """Whether the fold of the weights should stand open."""
        names = ("kind", "weights", "scale")
        return bool(self["weights"].value()) or any(self[name].errors for name in names)

    def packing(self) -> dict[str, Any]:
        return super().packing() | {
            "kind": self.cleaned_data["kind"] or Reading.NET,
            "weights": self.cleaned_data["weights"],
            "scale": self.cleaned_data["scale"],
        }


def _taken_field(offer: LotOffer) -> ExactField:
    in_grams = offer.item.unit == Unit.GRAM
    unit = "g" if in_grams else "pieces"
    attrs = {"inputmode": "decimal", "class": "form-control num"}
    return ExactField(
        widget=forms.TextInput(attrs=attrs),
        label=f"Taken of lot {offer.lot}, {unit}",
        places=3 if in_grams else 0,
        least=0,
        most=10_000_000,
        required=False,
        initial=offer.proposed or None,
    )


def _left_field_name(lot: Lot) -> str:
    return f"left_{lot.pk}"


def _left_field(offer: LotOffer) -> ExactField:
    return ExactField(
        widget=forms.TextInput(attrs={"inputmode": "decimal", "class": "form-control num"}),
        label=f"Or left of lot {offer.lot}, g",
        places=3,
        least=0,
        most=10_000_000,
        required=False,
    )


class RunReasonForm(forms.Form):
    reason = forms.CharField(max_length=300)

    def __init__(self, *args: Any, button: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper(button)
