"""What stands behind each name of a list, rounded to be shown."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from workshop.core.formatting import number
from workshop.labels.content.label import Label
from workshop.rules.quantities.units import round_to


@dataclass(frozen=True)
class DeclarationRow:
    """One name of the list with what stands behind it, rounded to be shown."""

    name: str
    percent: Decimal
    grams: Decimal
    is_organic: bool
    is_allergen: bool = False

    @property
    def percent_text(self) -> str:
        return number(self.percent, least=2, most=4)


def rows(label: Label, bulk_g: Decimal) -> list[DeclarationRow]:
    """The list with shares, and the grams of each in the bulk that this lot took."""
    return [
        DeclarationRow(
            name=entry.name,
            percent=round_to(entry.share * 100, Decimal("0.0001")),
            grams=round_to(entry.share * Fraction(bulk_g), Decimal("0.001")),
            is_organic=entry.is_organic,
            is_allergen=entry.group == "allergen",
        )
        for entry in label.declaration.entries
    ]
