"""The lye and the fats of a formula: its superfat, what must not be made, what the fats need."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import partial

from django.utils import timezone

from workshop.core.errors import ActionRefused
from workshop.core.formatting import THIN, number
from workshop.formulas.models import Line, Version
from workshop.ledger.models import Item, ItemKind
from workshop.materials.ingredients import Shares, shares_of_profile
from workshop.materials.models import Constituency, Profile
from workshop.materials.saponification import (
    Soap,
    bindings_of,
    is_lye,
    is_used_up,
    least_bound,
)
from workshop.rules.errors import RuleError
from workshop.rules.ingredients.composition import compose, flatten_trees
from workshop.rules.quantities.units import round_to
from workshop.rules.soap.lye import lye_hazard

ALKALI = Constituency.ALKALI
HUNDREDTH = Decimal("0.01")
CURE_MISSING = (
    "There is lye in it: say how many days it cures before it may be released and packed; 0 if it "
    "is ready at once."
)
Part = tuple[Item, Decimal]


class Contents:
    """What materials and bulks are made of as they are bought today, a bulk by its formula."""

    def __init__(self, items: Iterable[Item], *, on: date | None = None) -> None:
        self.on = on or timezone.localdate()
        self.items = {item.pk: item for item in items}
        self.inputs: dict[int, list[tuple[int, Fraction]]] = {}
        self._read_bulks([item.pk for item in self.items.values() if item.kind == ItemKind.BULK])
        rows = Profile.objects.filter(item__in=self.items).prefetch_related(
            "parts", "organic_statuses"
        )
        self.profiles = {profile.item_id: profile for profile in rows}
        self.has_lye = any(map(_brings_lye, self.profiles.values()))

    def _read_bulks(self, bulks: Sequence[int]) -> None:
        while bulks:
            lines = Line.objects.filter(
                version__in=Version.objects.approved().filter(formula__item__in=bulks),
                is_strained_out=False,
            ).select_related("item", "version__formula")
            new: list[int] = []
            for line in lines:
                made = line.version.formula.item_id
                self.inputs.setdefault(made, []).append((line.item_id, Fraction(line.share)))
                if line.item_id not in self.items and line.item.kind == ItemKind.BULK:
                    new.append(line.item_id)
                self.items[line.item_id] = line.item
            bulks = new

    def shares(self) -> dict[int, Shares]:
        """By item.

        Raises ActionRefused for what nobody has described, or has no approved formula.
        """
        try:
            return flatten_trees(self.items, lambda pk: self.inputs.get(pk, []), self._bought)
        except RuleError as error:
            raise ActionRefused(str(error)) from error

    def _bought(self, pk: int) -> Shares:
        profile = self.profiles.get(pk)
        if profile is None:
            way_on = (
                "has no approved formula yet"
                if self.items[pk].kind == ItemKind.BULK
                else "has no ingredient profile yet; an owner enters it under Materials"
            )
            raise ActionRefused(f"{self.items[pk]} {way_on}.")
        return shares_of_profile(profile, on=self.on, is_covered=profile.is_organic)


def _brings_lye(profile: Profile) -> bool:
    return is_lye(profile) or any(part.kind == ALKALI for part in profile.parts.all())


def soap_from(parts: Sequence[Part]) -> Soap | None:
    """The soap that these weights or shares make; None where there is no lye among them."""
    contents = Contents(item for item, _ in parts)
    return _soap(contents, lambda known: compose((w, known[item.pk]) for item, w in parts))


def _soap(contents: Contents, mixed: Callable[[Mapping[int, Shares]], Shares]) -> Soap | None:
    if not contents.has_lye:
        return None
    try:
        soap = Soap(mixed(contents.shares()))
    except ActionRefused as error:
        return Soap({}, unclear=error.message)
    return soap if soap.alkali else None


class VersionSoap:
    """A version as a soap: as its lines say, and with whatever stands in and binds least lye.

    Both are None where there is no lye in it. It reads lines with substitutes as they are loaded.
    """

    def __init__(self, version: Version) -> None:
        self.version = version
        self.lines = {
            line: [line.item, *line.substitutes.all()]
            for line in version.lines.all()
            if not line.is_strained_out
        }
        contents = Contents(item for items in self.lines.values() for item in items)
        self.soap = _soap(contents, self._as_it_says)
        self.worst = _soap(contents, self._at_worst)

    @property
    def binding(self) -> list[Item]:
        """Of a soap: what is not used up in it, so that its date limits how long it keeps."""
        if self.soap is None or self.soap.unclear:
            return []
        known = Contents(line.item for line in self.lines).shares()
        values = bindings_of(part.inci_name for shares in known.values() for part in shares)
        return [
            line.item
            for line in self.lines
            if not all(is_used_up(part, values) for part in known[line.item_id])
        ]

    def _as_it_says(self, known: Mapping[int, Shares]) -> Shares:
        return compose((line.share, known[line.item_id]) for line in self.lines)

    def _at_worst(self, known: Mapping[int, Shares]) -> Shares:
        values = bindings_of(part.inci_name for shares in known.values() for part in shares)
        binds = partial(least_bound, known=values)
        return compose(
            (line.share, min((known[item.pk] for item in items), key=binds))
            for line, items in self.lines.items()
        )

    @property
    def strength(self) -> list[str]:
        return strength_sentences(self.soap) if self.soap else []

    @property
    def unsafe(self) -> str:
        """Why it must not be approved for the sake of its lye; empty when it may."""
        soap, worst = self.soap, self.worst
        if soap is not None and soap.refusal:
            return soap.refusal
        if worst is not None and worst.refusal:
            return f"With what may stand in for an ingredient: {worst.refusal}"
        soap = soap or worst
        is_cured = self.version.cure_days is not None
        return CURE_MISSING if soap and not soap.is_little and not is_cured else ""


def strength_sentences(soap: Soap) -> list[str]:
    """How strong the lye is, and its hazard; nothing without water or lye."""
    lye = sum(soap.alkali.values(), Fraction())
    if not lye or not soap.water:
        return []
    strength = lye / (lye + soap.water)
    return [f"In the water of this formula the lye is {_percent(strength)}. {lye_hazard(strength)}"]


def _percent(share: Fraction) -> str:
    return f"{number(round_to(100 * share, Decimal('0.1')))}{THIN}%"
