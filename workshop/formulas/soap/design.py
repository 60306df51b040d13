"""A soap designed on the page of its formula: what its fats take, and the draft with that in it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

from workshop.core.errors import ActionRefused
from workshop.formulas.draft.validation import LineIn
from workshop.formulas.models import Line, Version
from workshop.formulas.soap.planned_superfat import Contents
from workshop.ledger.models import Item
from workshop.materials.models import Constituency, Profile
from workshop.materials.saponification import Soap, is_lye
from workshop.rules.errors import RuleError
from workshop.rules.ingredients.composition import compose
from workshop.rules.quantities.scaling import apportion
from workshop.rules.soap.design import SoapDesign, Wanted, cut_weight, design_soap
from workshop.rules.soap.lye import ALKALIS, Alkali, Fat

HUNDRED, STEP = Decimal(100), Decimal("0.0001")


@dataclass(frozen=True)
class FatRow:
    """A fat of the formula, its share of all fats and what of it the page shows."""

    name: str
    share: Fraction
    grams: Fraction
    sv: Decimal


class FormulaSoap:
    """The fats of a version, whatever lye and water its lines have by now.

    Raises ActionRefused where its fats cannot be determined.
    """

    def __init__(self, version: Version) -> None:
        self.version = version
        self.lines = [line for line in version.lines.all() if not line.is_strained_out]
        self.besides = [line for line in self.lines if not _is_of_lye(line)]
        if not self.besides:
            raise ActionRefused("Enter the fats of the formula first.")
        known = Contents(line.item for line in self.besides).shares()
        try:
            mixed = compose((line.share, known[line.item_id]) for line in self.besides)
        except RuleError as error:
            raise ActionRefused(str(error)) from error
        soap = Soap(mixed, before_lye=True)
        if soap.unclear:
            raise ActionRefused(f"The lye cannot be determined: {soap.unclear}")
        whole = sum((Fraction(line.share) for line in self.besides), Fraction())
        self.fats = [replace(fat, weight_g=Fraction(fat.weight_g) * whole) for fat in soap.fats]
        # In the unit of the shares: of 100 g of the formula as it stands.
        self.fats_in_shares = sum((Fraction(fat.weight_g) for fat in self.fats), Fraction())

    def of(self, fats_g: Decimal) -> list[Fat]:
        """The fats, so many grams of them in all."""
        rate = Fraction(fats_g) / self.fats_in_shares
        return [replace(fat, weight_g=Fraction(fat.weight_g) * rate) for fat in self.fats]

    def rows(self, fats_g: Decimal) -> list[FatRow]:
        return [
            FatRow(fat.name, Fraction(fat.weight_g) / Fraction(fats_g), Fraction(fat.weight_g),
                   Decimal(str(fat.sv)))
            for fat in self.of(fats_g)
        ]  # fmt: skip

    def designed(self, fats_g: Decimal, wanted: Wanted) -> SoapDesign:
        try:
            return design_soap(self.of(fats_g), wanted)
        except RuleError as error:
            field = "superfat" if wanted.superfat < 0 else None
            raise ActionRefused(str(error), field=field) from error

    def lines_with(self, fats_g: Decimal, wanted: Wanted) -> list[LineIn]:
        """The lines of a draft with the lye and water of the design; the others in proportion.

        Raises ActionRefused where the liquid, an acid or fat after the cook belong in lines of
        their own, which somebody enters first.
        """
        if wanted.liquid.grams or wanted.citric_g or wanted.fat_after_g:
            raise ActionRefused(
                "Another liquid, an acid and fat after the cook are ingredients of their own: "
                "enter them as lines of the draft, and take lye and water over without them."
            )
        made, rate = self.designed(fats_g, wanted), self.fats_in_shares / Fraction(fats_g)
        lye = {"NaOH": made.naoh_weighed_g, "KOH": made.koh_weighed_g}
        parts: list[tuple[LineIn, Fraction]] = [
            (_like(line), Fraction(line.share)) for line in self.besides
        ]
        for name, grams in lye.items():
            if grams:
                parts.append((self._line_of(*_lye_item(name)), grams * rate))
        parts.append((self._line_of(*_water_item()), made.water_g * rate))
        shares = apportion(HUNDRED, [weight for _, weight in parts], STEP)
        return [replace(line, share=share) for (line, _), share in zip(parts, shares, strict=True)]

    def _line_of(self, items: Sequence[Item], missing: str) -> LineIn:
        """The line that the draft has for one of these, or a new one at the beginning."""
        had = next((line for line in self.lines if line.item in items), None)
        if had:
            return _like(had)
        if not items:
            raise ActionRefused(missing)
        return LineIn(item=items[0], share=Decimal(1), phase="Lye", order=1)


def _is_of_lye(line: Line) -> bool:
    """Lye or its water: what the design works out anew."""
    profile = Profile.objects.filter(item=line.item_id).first()
    return profile is not None and (is_lye(profile) or profile.kind == Constituency.WATER)


def _like(line: Line) -> LineIn:
    return LineIn(
        item=line.item,
        share=line.share,
        phase=line.phase,
        order=line.order,
        tolerance=line.tolerance,
        is_irreversible=line.is_irreversible,
        substitutes=list(line.substitutes.all()),
    )


def _lye_item(name: Alkali | str) -> tuple[list[Item], str]:
    inci = next(inci for inci, alkali in ALKALIS.items() if alkali == name)
    items = Item.objects.active().filter(profile__inci_name__iexact=inci).order_by("pk")
    return list(items), f"No material is {inci}; an owner enters it under Materials."


def _water_item() -> tuple[list[Item], str]:
    items = Item.objects.active().filter(profile__kind=Constituency.WATER).order_by("pk")
    return list(items), "No material is water; an owner enters it under Materials."


def bars_of(made: SoapDesign, label_g: Decimal | None, cure_loss: Fraction) -> Mapping[str, Any]:
    """What a bar weighs fresh, and how many there are, for a net weight on the label."""
    if not label_g:
        return {}
    fresh = cut_weight(label_g, cure_loss)
    return {"fresh_g": fresh, "count": int(made.poured_g / fresh)}
