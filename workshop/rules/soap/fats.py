"""Fats: the published saponification value of each, and what sounds like one."""

import re
from decimal import Decimal

Range = tuple[Decimal, Decimal, str]

# Saponification values, mg KOH per gram: least and most, and where from. Read were the sunflower
# row of CXS 210, USP's, and second-hand BP, Ph. Eur. and cocoa butter; the rest is from memory.
SV_RANGES: dict[str, Range] = {
    "sunflower oil": (Decimal(187), Decimal(194), "CXS 210, amended 2022"),
    "coconut oil": (Decimal(248), Decimal(265), "CXS 210"),
    "palm oil": (Decimal(190), Decimal(209), "CXS 210"),
    "palm kernel oil": (Decimal(230), Decimal(254), "CXS 210"),
    "olive oil": (Decimal(184), Decimal(196), "CXS 33"),
    "castor oil": (Decimal(176), Decimal(187), "BP"),
    "hydrogenated castor oil": (Decimal(176), Decimal(182), "USP"),
    "cocoa butter": (Decimal("191.2"), Decimal("196.3"), "an encyclopedia"),
    "shea butter": (Decimal(160), Decimal(190), "CXS 325"),
    "lard": (Decimal(192), Decimal(203), "CXS 211"),
    "tallow": (Decimal(190), Decimal(202), "CXS 211"),
    "beeswax": (Decimal(87), Decimal(104), "Ph. Eur."),
    "carnauba wax": (Decimal(78), Decimal(95), "USP"),
}
# Of an INCI name, without what stands in brackets. Common knowledge of the trade, from memory.
BOTANICAL = {
    "helianthus annuus": "sunflower oil",
    "cocos nucifera": "coconut oil",
    "elaeis guineensis kernel": "palm kernel oil",
    "elaeis guineensis oil": "palm oil",
    "olea europaea": "olive oil",
    "ricinus communis": "castor oil",
    "theobroma cacao": "cocoa butter",
    "butyrospermum parkii": "shea butter",
    "adeps suillus": "lard",
    "adeps bovis": "tallow",
    "cera alba": "beeswax",
    "cera flava": "beeswax",
    "copernicia cerifera": "carnauba wax",
}
# Made into something else, whose value is another one.
_TREATED = re.compile(r"\b(?:hydrogenated|fractionated|ethoxylated|sulfated|peg)\b")
_BRACKETS = re.compile(r"\s*\([^)]*\)")
# Common practice, no source: the words by which fats, waxes and fatty acids are sold.
_FAT = re.compile(
    r"\b(?:oils?|butters?|wax|cera|fats?|tallow|lard|suet|adeps|ghee|lanolin|stearin|oleum"
    r"|(?:stearic|palmitic|oleic|lauric|myristic) acid)\b"
)


def published_range(*names: str) -> Range | None:
    """Return the published saponification value of the fat that goes by these names, or None.

    Units: mg KOH per gram, least and most, and where they are published. Error: none.
    Source: see `SV_RANGES`. Raises: nothing.

    >>> published_range("Olea Europaea (Olive) Fruit Oil")
    (Decimal('184'), Decimal('196'), 'CXS 33')
    >>> published_range("Coconut oil, fractionated")
    """
    words = "; ".join(names).casefold()
    botanical = _BRACKETS.sub("", words)
    for fat in sorted(SV_RANGES, key=len, reverse=True):
        if re.search(rf"\b{fat}\b", words) and _is_as_named(fat, words):
            return SV_RANGES[fat]
    for name, fat in BOTANICAL.items():
        if name in botanical and _is_as_named(fat, words):
            return SV_RANGES[fat]
    return None


def _is_as_named(fat: str, words: str) -> bool:
    return bool(_TREATED.search(fat)) or not _TREATED.search(words)


def sounds_like_fat(*names: str) -> bool:
    """Say whether something of these names is likely to bind lye.

    Units: none. Error: a name can mislead; the person says so by entering the value.
    Source: common practice, no source. Raises: nothing.

    >>> sounds_like_fat("Persea Gratissima Oil"), sounds_like_fat("Kaolin", "white clay")
    (True, False)
    """
    return any(_FAT.search(name.casefold()) for name in names)
