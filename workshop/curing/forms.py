"""Forms of the racks: a rack, a place, the weekly round, a test, what was trimmed."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django import forms

from workshop.core.forms import ExactField, TokenField, helper, parts_helper
from workshop.curing.models import CureTestKind, Rack, WeighedAs
from workshop.curing.release_readiness import Cure
from workshop.curing.services import LOSSES, RoundRow
from workshop.kettle.weighing.forms import MassField
from workshop.rules.quantities.units import round_to
from workshop.rules.soap.cure import for_dryness, free_alkali_percent

# IS 2888:2004, table 1, second-hand: the least total fatty matter of each grade, per cent.
GRADES = {"76": "grade 1, 76 %", "70": "grade 2, 70 %", "60": "grade 3, 60 %"}


class RackForm(forms.Form):
    name = forms.CharField(max_length=60, help_text="Such as Rack by the window, upper half.")
    is_active = forms.BooleanField(label="In use", required=False, initial=True)
    helper = helper("Save the rack")


class StandingForm(forms.Form):
    rack = forms.ModelChoiceField(Rack.objects.none())
    place = forms.CharField(max_length=40, required=False, help_text="Such as trays 3 and 4.")
    bars = forms.IntegerField(
        label="Bars", min_value=1, max_value=100_000, required=False,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
        help_text="Once it is cut. Then the weight of one bar is forecast.",
    )  # fmt: skip
    token = TokenField()
    helper = helper("Put it there")

    def __init__(self, data: Any = None) -> None:
        super().__init__(data)
        rack: Any = self.fields["rack"]
        rack.queryset = Rack.objects.filter(is_active=True)


class RoundForm(forms.Form):
    """One weight for each lot on the racks; what is left empty was not weighed."""

    token = TokenField()
    helper = parts_helper()

    def __init__(self, data: Any = None, *, cures: Sequence[Cure]) -> None:
        super().__init__(data)
        self.cures = cures
        for cure in cures:
            key = cure.lot.pk
            self.fields[f"weight-{key}"] = MassField(
                label=f"Weight of lot {cure.lot}", required=False, help_text=""
            )
            if not cure.weighings:
                self.fields[f"kind-{key}"] = forms.ChoiceField(
                    choices=WeighedAs, label=f"What of lot {cure.lot} is weighed", required=False
                )

    def row(self, cure: Cure) -> list[Any]:
        """The fields of one lot, as the page shows them."""
        key = cure.lot.pk
        names = [f"kind-{key}"] if not cure.weighings else []
        return [self[name] for name in [*names, f"weight-{key}"]]

    @property
    def rows(self) -> list[RoundRow]:
        typed = self.cleaned_data
        return [
            RoundRow(cure.lot, self._kind(cure), typed[f"weight-{cure.lot.pk}"])
            for cure in self.cures
            if typed.get(f"weight-{cure.lot.pk}")
        ]

    def _kind(self, cure: Cure) -> WeighedAs:
        if cure.weighings:
            return WeighedAs(cure.weighings[-1].kind)
        return WeighedAs(self.cleaned_data.get(f"kind-{cure.lot.pk}") or WeighedAs.BAR)

    def clean(self) -> None:
        if not self.errors and not self.rows:
            raise forms.ValidationError("Weigh at least one lot.")


class LossForm(forms.Form):
    kind = forms.ChoiceField(choices=[(one.value, one.label) for one in LOSSES], label="How")
    grams = MassField(label="How much")
    note = forms.CharField(max_length=300, required=False, label="Remark")
    token = TokenField()
    helper = helper("Record what left")


class CureTestForm(forms.Form):
    """A test as a figure; free alkali also from its titration, and for a soap that has dried."""

    kind = forms.ChoiceField(choices=CureTestKind, label="What was tested")
    method = forms.CharField(
        max_length=120, help_text="Such as ISO 456 titration, or a pH meter in a 1 % solution."
    )
    value = ExactField(places=4, least=0, most=100, required=False, label="Result")
    acid_ml = ExactField(places=3, least=0, most=1000, required=False, label="Acid used, mL")
    acid_molar = ExactField(places=4, least=0, most=20, required=False, label="Its strength, mol/L")
    soap_g = ExactField(places=3, least=0, most=1000, required=False, label="Soap, g")
    fatty_matter = ExactField(
        places=2, least=0, most=100, required=False, label="Total fatty matter, %",
        help_text="If known: free alkali is then taken back to the grade's minimum, as IS 2888 "
        "does for a soap that has dried.",
    )  # fmt: skip
    grade = forms.ChoiceField(choices=GRADES, required=False, initial="60")
    note = forms.CharField(max_length=300, required=False, label="Remark")
    token = TokenField()
    helper = helper("Record the test")

    TITRATION = ("acid_ml", "acid_molar", "soap_g")

    def clean(self) -> dict[str, Any]:
        typed: dict[str, Any] = self.cleaned_data
        figures = [typed.get(name) for name in self.TITRATION]
        is_titrated = any(figure is not None for figure in figures)
        if is_titrated and not all(figures):
            raise forms.ValidationError("A titration needs its three figures, each above zero.")
        if typed.get("kind") == CureTestKind.PH and (is_titrated or typed.get("fatty_matter")):
            raise forms.ValidationError("A pH has a result only; leave the titration empty.")
        if not is_titrated and typed.get("value") is None:
            self.add_error("value", "Give the result, or the figures of its titration.")
        elif is_titrated and typed.get("value") is not None:
            self.add_error("value", "Give either the result or its titration.")
        if typed.get("kind") == CureTestKind.PH and (typed.get("value") or 0) > 14:
            self.add_error("value", "A pH lies from 0 to 14.")
        return typed

    @property
    def values(self) -> dict[str, Any]:
        """What the service takes, corrections and their figures told in the remark."""
        typed = self.cleaned_data
        note = [typed["note"]] if typed["note"] else []
        result = typed["value"]
        if result is None:
            ml, molar, grams = (typed[name] for name in self.TITRATION)
            result = _kept(free_alkali_percent(ml, molar, grams))
            note.append(f"{ml} mL of {molar} mol/L on {grams} g: {result} %")
        if typed.get("fatty_matter"):
            as_found, minimum = result, Decimal(typed["grade"] or "60")
            result = _kept(for_dryness(result, typed["fatty_matter"], minimum))
            note.append(f"found {as_found} % at a fatty matter of {typed['fatty_matter']} %")
        return {
            "kind": CureTestKind(typed["kind"]),
            "method": typed["method"],
            "value": result,
            "note": "; ".join(note)[:300],
            "token": typed["token"],
        }


def _kept(figure: Fraction) -> Decimal:
    return round_to(figure, Decimal("0.0001"))


class BackForm(forms.Form):
    reason = forms.CharField(max_length=300, label="Why it is taken back")
    token = TokenField()
    helper = helper("Take the weighing back")
