"""What binds lye in a mixture: its superfat, or why that cannot be determined."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from django.db.models import Q

from workshop.core.formatting import percent
from workshop.materials.ingredients import Shares
from workshop.materials.models import Constituency, Profile, SoapValue, soap_value_of
from workshop.rules.ingredients.composition import Composition, Constituent
from workshop.rules.soap.fats import published_range, sounds_like_fat
from workshop.rules.soap.lye import (
    ALKALIS,
    HAZARDOUS_FROM,
    LAST_WORD,
    MOLAR_G,
    Alkali,
    Fat,
    alkali_of,
)
from workshop.rules.soap.superfat import Superfat, superfat_of, with_published_range

LYE_NUMBERS = ("1310-73-2", "1310-58-3")
TENTH = Decimal("0.1")
CAUTION = f"The alkali is counted as pure. {LAST_WORD}"
TOO_MUCH_LYE = (
    "There is more lye than these fats can bind: the soap could burn skin. Do not use it as it "
    "is; have a qualified person look at it."
)
PERHAPS_TOO_MUCH = (
    "With the fats at the lowest of their published values, lye would be left over: the soap "
    "could burn skin. Have a qualified person look at it."
)
LITTLE_LYE = (
    "Lye is below 0.5 % of the whole, which makes no soap. Measure the pH before anyone uses it."
)


def is_lye(profile: Profile) -> bool:
    """Whether a material is an alkali, whatever somebody said that it is in a list."""
    return (
        profile.kind == Constituency.ALKALI
        or profile.cas in LYE_NUMBERS
        or profile.inci_name.casefold() in ALKALIS
    )


def of_lye(prefix: str = "") -> Q:
    """The same, or a bought solution of lye, as a condition on profiles."""
    return (
        Q(**{f"{prefix}kind": Constituency.ALKALI})
        | Q(**{f"{prefix}cas__in": LYE_NUMBERS})
        | Q(**{f"{prefix}inci_name__iexact": "sodium hydroxide"})
        | Q(**{f"{prefix}inci_name__iexact": "potassium hydroxide"})
        | Q(**{f"{prefix}parts__kind": Constituency.ALKALI})
    )


@dataclass(frozen=True)
class Binding:
    """How much lye one fat binds, mg KOH per gram: as a rule, at least, at most."""

    value: Decimal
    least: Decimal
    most: Decimal

    def with_row(self, row: SoapValue) -> "Binding":
        other = _binding(row)
        return Binding(
            min(self.value, other.value), min(self.least, other.least), max(self.most, other.most)
        )


def _binding(row: SoapValue) -> Binding:
    least, most = (row.value if end is None else end for end in (row.least, row.most))
    return Binding(row.value, least, most)


def bindings_of(names: Iterable[str]) -> dict[str, Binding]:
    """What each of these INCI names binds; where two materials share one, the lower value counts.

    What was entered as binding no lye is there with 0.
    """
    rows = SoapValue.objects.filter(item__profile__inci_name__in=set(names))
    found: dict[str, Binding] = {}
    for row in rows.select_related("item__profile"):
        name = row.item.profile.inci_name
        found[name] = found[name].with_row(row) if name in found else _binding(row)
    return found


@dataclass(frozen=True)
class Value:
    """What the page of a material says of its saponification value."""

    row: SoapValue
    published: str
    warning: str


def value_of(profile: Profile) -> Value | None:
    row = soap_value_of(profile.item)
    if row is None:
        return None
    names = (profile.common_name or profile.inci_name, profile.inci_name)
    known = published_range(*names)
    published = f"published {known[0]} to {known[1]} ({known[2]})" if known else ""
    is_outside = known and row.value and not known[0] <= row.value <= known[1]
    return Value(row, published, f"It is outside the {published}. Check it." if is_outside else "")


class Soap:
    """The superfat of a mixture, or why it cannot be determined."""

    caution = CAUTION

    def __init__(
        self, mixture: Composition, *, unclear: str = "", before_lye: bool = False
    ) -> None:
        """`before_lye` weighs up the fats of a mixture whose lye is still to be worked out."""
        self.alkali = {part: share for part, share in mixture.items() if _is_alkali(part)}
        self.fats: list[Fat] = []
        self.idle: list[str] = []
        self.water = sum((s for part, s in mixture.items() if part.kind == "water"), Fraction())
        self.unclear = unclear
        if self.alkali or before_lye:
            self._weigh_up(mixture)

    def _weigh_up(self, mixture: Composition) -> None:
        known = bindings_of(part.inci_name for part in mixture)
        others = [part for part in mixture if part not in self.alkali]
        fats = [part for part in others if _may_bind(part, known)]
        unknown = sorted({part.inci_name for part in fats if part.inci_name not in known})
        strange = sorted(part.inci_name for part in self.alkali if alkali_of(part) is None)
        plain = {part.inci_name for part in others if part.kind == "plain"}
        self.idle = sorted(plain - {part.inci_name for part in fats})
        if strange:
            self.unclear = (
                f"{', '.join(strange)} is entered as an alkali, and only sodium and potassium "
                "hydroxide are calculated here, by those INCI names. What does not saponify is "
                "entered as a plain ingredient or a salt."
            )
        elif unknown:
            self.unclear = (
                f"no saponification value is kept for {', '.join(unknown)}. The owner enters it "
                "with the material; 0 says that it binds no lye."
            )
        elif not fats:
            self.unclear = "nothing in it is known to bind lye."
        else:
            self.fats = [_fat(part, mixture[part], known[part.inci_name]) for part in fats]

    @property
    def superfat(self) -> Superfat | None:
        """None without fats, or as long as something of it is not known."""
        if not self.fats:
            return None
        lye: dict[Alkali, Fraction] = {}
        for part, share in self.alkali.items():
            kind = ALKALIS[part.inci_name.casefold()]
            lye[kind] = lye.get(kind, Fraction()) + share
        return superfat_of(self.fats, lye)

    @property
    def is_unfit(self) -> bool:
        """Whether lye may be left over, as far as the figures tell."""
        found = self.superfat
        return bool(found and found.least < 0)

    @property
    def is_little(self) -> bool:
        """Whether its lye only sets the pH of something else, such as a lotion."""
        share = sum(self.alkali.values(), Fraction())
        return not self.fats and 0 < share < HAZARDOUS_FROM

    @property
    def refusal(self) -> str:
        """Why nobody may make or use it like this, in a sentence; empty when one may."""
        if self.is_unfit:
            return " ".join(self.told())
        return self.told()[0] if self.unclear and not self.is_little else ""

    def told(self, meant: "Soap | None" = None) -> list[str]:
        """In sentences, beside the superfat that was meant; none for a melt without lye."""
        found = self.superfat
        if found is None:
            return self._untold()
        planned = meant and meant.superfat
        beside = f" ({percent(planned.usual)} was meant)" if planned else ""
        between = ""
        if found.least != found.most:
            low, high = percent(found.least), percent(found.most)
            between = f"; by the published values of its fats it lies from {low} to {high}"
        sentences = [f"The superfat comes to {percent(found.usual)}{beside}{between}."]
        if found.least < 0:
            sentences.append(TOO_MUCH_LYE if found.usual < 0 else PERHAPS_TOO_MUCH)
        return sentences

    def in_short(self) -> list[str]:
        """The same for where there is little room."""
        found = self.superfat
        if found is None or found.least < 0:
            return self.told()
        low, high = percent(found.least), percent(found.most)
        return [f"Superfat {percent(found.usual)}, by published values {low} to {high}."]

    def _untold(self) -> list[str]:
        if self.is_little:
            return [LITTLE_LYE]
        return [f"The superfat cannot be determined: {self.unclear}"] if self.unclear else []


def least_bound(mixture: Shares, known: Mapping[str, Binding]) -> Fraction:
    """How much KOH a gram binds at the least; below zero where it brings lye itself."""
    bound = Fraction()
    for part, share in mixture.items():
        if kind := alkali_of(part):
            bound -= share * MOLAR_G["KOH"] / MOLAR_G[kind]
        elif part.inci_name in known:
            fat = _fat(part, share, known[part.inci_name])
            bound += min(fat.koh_g(), fat.koh_g(fat.least_sv))
    return bound


def is_used_up(part: Constituent, known: Mapping[str, Binding]) -> bool:
    """Whether nothing of it is left as it was in a finished soap: water, lye, a fat."""
    return part.kind == "water" or _is_alkali(part) or _may_bind(part, known)


def _is_alkali(part: Constituent) -> bool:
    return part.kind == "alkali" or alkali_of(part) is not None


def _may_bind(part: Constituent, known: Mapping[str, Binding]) -> bool:
    """A fat by its value, its soap name or the way it is called, unless entered as binding none."""
    if part.inci_name in known:
        return known[part.inci_name].value > 0
    named = part.kind == "plain" and sounds_like_fat(part.inci_name, part.common_name)
    return bool(part.soap_name) or named


def _fat(part: Constituent, share: Fraction, binds: Binding) -> Fat:
    name = part.common_name or part.inci_name
    fat = Fat(name, share, binds.value, binds.least, binds.most)
    return with_published_range(fat, part.inci_name)
