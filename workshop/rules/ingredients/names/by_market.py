"""The name that a market's list prints for an ingredient, whichever of its names was entered."""

from collections.abc import Iterable, Mapping

from workshop.rules.ingredients.names.fixed_oils import FIXED_OILS
from workshop.rules.ingredients.names.named import Named, without_english
from workshop.rules.ingredients.names.other_materials import OTHER_MATERIALS
from workshop.rules.ingredients.names.scents import SCENTS
from workshop.rules.markets.market_law import Dictionary

CATALOGUE: tuple[Named, ...] = (*FIXED_OILS, *SCENTS, *OTHER_MATERIALS)


def _key(name: str) -> str:
    return without_english(name).casefold()


def _by_key(entries: Iterable[Named]) -> dict[str, Named]:
    found: dict[str, Named] = {}
    for entry in entries:
        for name in (entry.glossary, entry.dictionary, entry.colour_index):
            if name:
                found.setdefault(_key(name), entry)
    return found


_BY_KEY = _by_key(CATALOGUE)


def known_material(name: str) -> Named | None:
    """Return what the catalogue holds under a name of the glossary or the dictionary.

    Units, error: none. Source: as each table says. Raises: nothing.

    >>> known_material("Beeswax").glossary, known_material("Unheard Of Oil")
    ('Cera Alba', None)
    """
    return _BY_KEY.get(_key(name))


def name_by(
    dictionary: Dictionary,
    inci_name: str,
    common_name: str = "",
    *,
    own: Mapping[str, str] | None = None,
) -> str:
    """Return the name of an ingredient in the lists of one dictionary.

    `own` are names that the owner set, by the name entered; they come before the catalogue. What
    neither knows keeps its name, without its English part for the glossary; the dictionary gets
    the common name in brackets once, unless the name says it already.

    Units, error: none. Source: Regulation (EC) 1223/2009, article 33; 21 CFR 701.3(c).
    Raises: nothing.

    >>> name_by("glossary", "Helianthus Annuus (Sunflower) Seed Oil", "sunflower oil")
    'Helianthus Annuus Seed Oil'
    >>> name_by("dictionary", "Helianthus Annuus (Sunflower) Seed Oil", "sunflower oil")
    'Helianthus Annuus (Sunflower) Seed Oil'
    >>> name_by("dictionary", "Cera Alba", "beeswax"), name_by("dictionary", "Oryza Nova", "rice")
    ('Beeswax', 'Oryza Nova (rice)')
    """
    mine = (own or {}).get(inci_name.casefold())
    if mine:
        return mine
    known = known_material(inci_name)
    if dictionary == "glossary":
        return known.glossary if known else without_english(inci_name)
    if known:
        return known.dictionary
    has_english = without_english(inci_name) != inci_name
    if not common_name or has_english or common_name.casefold() in inci_name.casefold():
        return inci_name
    return f"{inci_name} ({common_name})"


def same_ingredient_key(name: str) -> str:
    """Return what all names of one ingredient have in common, to compare lists of markets.

    Units, error: none. Source: the catalogue. Raises: nothing.

    >>> same_ingredient_key("Cera Alba") == same_ingredient_key("Beeswax")
    True
    """
    known = known_material(name)
    return _key(known.glossary) if known else _key(name)
