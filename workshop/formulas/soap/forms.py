"""What the page of a draft says of lye and fats, as typed and before anything is saved."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any

from crispy_forms.layout import Div, Layout
from django import forms

from workshop.core.forms import ExactField, parts_helper
from workshop.formulas.forms import Draft
from workshop.formulas.soap.planned_superfat import Part, soap_from, strength_sentences
from workshop.materials.saponification import Soap
from workshop.rules.soap.design import Liquid, Wanted
from workshop.rules.soap.lye import water_for_strength


class TypedSoap:
    """The superfat of what is typed, before it is saved."""

    def __init__(self, page: Draft) -> None:
        self.soap: Soap | None = soap_from(_typed(page))

    @property
    def strength(self) -> list[str]:
        return strength_sentences(self.soap) if self.soap else []


def _typed(page: Draft) -> Sequence[Part]:
    """The ingredients with a share that can be read, as typed or as kept."""
    if not page.lines.is_bound:
        return [(line.item, line.share) for line in page.version.lines.all()]
    page.lines.is_valid()
    rows = [form.cleaned_data for form in page.lines.forms]
    return [
        (row["item"], row["share"])
        for row in rows
        if row.get("item") and row.get("share") and not row.get("DELETE")
    ]


class DesignForm(forms.Form):
    """What a soap is meant to be; nothing of it is kept but what is taken into the draft."""

    fats_g = ExactField(label="Fats in all, g", places=3, most=1_000_000)
    superfat = ExactField(
        label="Superfat, or lye left out, %", places=2, least=-100, most=100,
        help_text="Common practice: 3 to 8 %.",
    )  # fmt: skip
    by_naoh = ExactField(
        label="Of the fat, by sodium hydroxide, %", places=2, least=0, most=100,
        help_text="100: a hard bar. 0: potassium hydroxide alone, a soft soap.",
    )  # fmt: skip
    naoh_purity = ExactField(
        label="Purity of the sodium hydroxide, %", places=2, least=50, most=100,
        help_text="From its label or certificate.",
    )  # fmt: skip
    koh_purity = ExactField(
        label="Purity of the potassium hydroxide, %", places=2, least=50, most=100
    )
    strength = ExactField(
        label="Strength of the lye, %", places=2, least=10, most=50, required=False,
        help_text="Common practice: 28 to 38 %. Or the parts of water beside it.",
    )  # fmt: skip
    water_to_lye = ExactField(
        label="Water to one of lye", places=3, least=0, most=100, required=False
    )
    liquid_g = ExactField(label="Of the water, another liquid, g", places=3, required=False)
    liquid_fat = ExactField(label="Its fat, %", places=2, most=100, required=False)
    liquid_sugar = ExactField(label="Its sugar, %", places=2, most=100, required=False)
    liquid_sv = ExactField(
        label="Saponification value of its fat", places=1, most=400, required=False
    )
    citric_g = ExactField(label="Citric acid, g", places=3, required=False)
    fat_after_g = ExactField(label="Fat after the cook, g", places=3, required=False)
    cure_loss = ExactField(
        label="Loss in the cure, %", places=2, least=0, most=Decimal("99.99"), required=False,
        help_text="Common practice: 5 to 15 % in four to eight weeks.",
    )  # fmt: skip
    label_g = ExactField(label="Net weight on the label, g", places=3, required=False)

    ROWS = (
        ("fats_g", "superfat", "cure_loss", "label_g"),
        ("strength", "water_to_lye"),
        ("by_naoh", "naoh_purity", "koh_purity"),
        ("liquid_g", "liquid_fat", "liquid_sugar", "liquid_sv"),
        ("citric_g", "fat_after_g"),
    )
    BEGINS = {
        "fats_g": 1000, "superfat": 5, "by_naoh": 100, "naoh_purity": 100, "koh_purity": 90,
        "strength": 33, "cure_loss": 12,
    }  # fmt: skip

    def __init__(self, data: Any = None, *, initial: dict[str, Any] | None = None) -> None:
        super().__init__(data, initial=self.BEGINS | (initial or {}))
        self.helper = parts_helper()
        self.helper.layout = Layout(*(Div(*row, css_class="row") for row in self.ROWS))

    def clean_fats_g(self) -> Decimal:
        grams: Decimal = self.cleaned_data["fats_g"]
        if grams <= 0:
            raise forms.ValidationError("A soap needs fats that weigh more than nothing.")
        return grams

    def clean(self) -> None:
        typed = self.cleaned_data
        if "strength" in typed and "water_to_lye" in typed:
            given = [typed[name] is not None for name in ("strength", "water_to_lye")]
            if given != [True, False] and given != [False, True]:
                self.add_error("strength", "Give the strength or the parts of water, one of them.")

    @property
    def loss(self) -> Fraction:
        return Fraction(self.cleaned_data.get("cure_loss") or 0) / 100

    @property
    def wanted(self) -> Wanted:
        typed = {name: Fraction(value or 0) for name, value in self.cleaned_data.items()}
        ratio = typed["water_to_lye"] or water_for_strength(typed["strength"] / 100)
        return Wanted(
            superfat=typed["superfat"] / 100,
            water_to_lye=ratio,
            by_naoh=typed["by_naoh"] / 100,
            naoh_purity=typed["naoh_purity"] / 100,
            koh_purity=typed["koh_purity"] / 100,
            liquid=Liquid(
                typed["liquid_g"],
                typed["liquid_fat"] / 100,
                typed["liquid_sugar"] / 100,
                typed["liquid_sv"],
            ),
            citric_g=typed["citric_g"],
            fat_after_g=typed["fat_after_g"],
            cure_loss=self.loss,
        )
