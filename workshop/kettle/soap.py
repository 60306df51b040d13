"""Whether the lye still fits the fats that are really in the kettle."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from fractions import Fraction

from workshop.core.errors import Refused
from workshop.core.shown import number
from workshop.goods_in.composition import Shares, compositions_of
from workshop.goods_in.models import Constituency, SoapValue
from workshop.kettle.models import Batch, Weighing
from workshop.ledger.models import Kind
from workshop.rules.composition import Constituent, compose
from workshop.rules.lye import Alkali, Fat
from workshop.rules.superfat import Superfat, superfat_of, with_published_range
from workshop.rules.units import round_to

ALKALIS: Mapping[str, Alkali] = {"sodium hydroxide": "NaOH", "potassium hydroxide": "KOH"}
TENTH = Decimal("0.1")
CAUTION = (
    "The alkali is counted as pure. Saponification values vary by lot: test the finished soap "
    "before anyone uses it, and have a qualified person look at the figures."
)
TOO_MUCH_LYE = (
    "There is more lye than these fats can bind: the soap could burn skin. Do not use it as it "
    "is; have a qualified person look at it."
)
PERHAPS_TOO_MUCH = (
    "With the fats at the lowest of their published values, lye would be left over: the soap "
    "could burn skin. Have a qualified person look at it."
)


def in_the_kettle(batch: Batch) -> Shares:
    """What was really weighed in, as shares of the whole; empty before anything was.

    Raises Refused when something of it has no ingredient profile.
    """
    readings = Weighing.objects.standing().filter(line__batch=batch).select_related("posting__lot")
    moved = [(row.posting.lot, row.posting.moved) for row in readings.order_by()]
    known = compositions_of({lot.pk: lot for lot, _ in moved}.values())
    return compose((grams, known[lot.pk]) for lot, grams in moved) if moved else {}


def soap_in(batch: Batch) -> "Soap | None":
    """The batch as weighed so far, if there is lye in it; other batches cost one query."""
    lines = batch.lines.all()
    has_lye = lines.filter(item__profile__kind=Constituency.ALKALI).exists()
    if not has_lye and not lines.filter(item__kind=Kind.BULK).exists():
        return None
    try:
        soap = Soap(in_the_kettle(batch))
    except Refused as error:
        return Soap({}, unclear=error.sentence) if has_lye else None
    return soap if soap.alkali else None


class Soap:
    """The superfat of a mixture, or why it cannot be told."""

    caution = CAUTION

    def __init__(self, mixture: Shares, *, unclear: str = "") -> None:
        self.alkali = {part: share for part, share in mixture.items() if part.kind == "alkali"}
        self.fats: list[Fat] = []
        self.unclear = unclear
        if self.alkali:
            self._weigh_up(mixture)

    def _weigh_up(self, mixture: Shares) -> None:
        values = _values(part.inci_name for part in mixture)
        fats = [part for part in mixture if part.soap_name or part.inci_name in values]
        unknown = sorted({part.inci_name for part in fats if part.inci_name not in values})
        strange = sorted(part.inci_name for part in self.alkali if _alkali(part) is None)
        if strange:
            self.unclear = f"{', '.join(strange)} is no hydroxide."
        elif unknown:
            self.unclear = (
                f"no saponification value is kept for {', '.join(unknown)}. The owner enters it "
                "with the material."
            )
        elif not fats:
            self.unclear = "nothing in it is known to bind lye."
        else:
            self.fats = [_fat(part, mixture[part], values[part.inci_name]) for part in fats]

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

    def told(self, meant: "Soap | None" = None) -> list[str]:
        """In sentences, beside the superfat that was meant; none for a melt without lye."""
        found = self.superfat
        if found is None:
            return [f"The superfat cannot be told: {self.unclear}"] if self.unclear else []
        planned = meant and meant.superfat
        beside = f" ({_percent(planned.usual)} was meant)" if planned else ""
        between = ""
        if found.least != found.most:
            low, high = _percent(found.least), _percent(found.most)
            between = f"; by the published values of its fats it lies from {low} to {high}"
        sentences = [f"The superfat comes to {_percent(found.usual)}{beside}{between}."]
        if found.least < 0:
            sentences.append(TOO_MUCH_LYE if found.usual < 0 else PERHAPS_TOO_MUCH)
        return sentences


def _values(names: Iterable[str]) -> dict[str, Decimal]:
    rows = SoapValue.objects.filter(item__profile__inci_name__in=set(names))
    return {row.item.profile.inci_name: row.value for row in rows.select_related("item__profile")}


def _alkali(part: Constituent) -> Alkali | None:
    return ALKALIS.get(part.inci_name.casefold())


def _fat(part: Constituent, share: Fraction, value: Decimal) -> Fat:
    return with_published_range(Fat(part.common_name or part.inci_name, share, value))


def _percent(share: Fraction) -> str:
    return f"{number(round_to(100 * share, TENTH))}\u202f%"
