"""Finding an entry of the allergen list by whatever name a certificate uses for it."""

import re
from difflib import get_close_matches

from workshop.rules.allergen_list import ALLERGENS, PROHIBITED

# Names in use beside those of the list -> the list's own; from memory.
SYNONYMS = {
    "Acetyleugenol": "Eugenyl Acetate",
    "alpha-Amylcinnamaldehyde": "Amyl Cinnamal",
    "alpha-Hexylcinnamaldehyde": "Hexyl Cinnamal",
    "alpha-Terpinen": "Alpha-Terpinene",
    "Amyl Cinnamaldehyde": "Amyl Cinnamal",
    "Amyl Cinnamic Alcohol": "Amylcinnamyl Alcohol",
    "Amyl Cinnamic Aldehyde": "Amyl Cinnamal",
    "Amylcinnamic Alcohol": "Amylcinnamyl Alcohol",
    "Amylcinnamic Aldehyde": "Amyl Cinnamal",
    "Anisyl Alcohol": "Anise Alcohol",
    "Benzoic Aldehyde": "Benzaldehyde",
    "Caryophyllene": "Beta-Caryophyllene",
    "Cinnamaldehyde": "Cinnamal",
    "Cinnamic Alcohol": "Cinnamyl Alcohol",
    "Cinnamic Aldehyde": "Cinnamal",
    "Eugenol Acetate": "Eugenyl Acetate",
    "Geraniol Acetate": "Geranyl Acetate",
    "Hexyl Cinnamaldehyde": "Hexyl Cinnamal",
    "Hexyl Cinnamic Aldehyde": "Hexyl Cinnamal",
    "Isoeugenol Acetate": "Isoeugenyl Acetate",
    "Isomethyl Ionone": "Alpha-Isomethyl Ionone",
    "Linalool Acetate": "Linalyl Acetate",
    "Methyl Heptine Carbonate": "Methyl 2-Octynoate",
    "Oak Moss Extract": "Evernia Prunastri Extract",
    "p-Anisyl Alcohol": "Anise Alcohol",
    "Peru Balsam": "Myroxylon Pereirae Oil/Extract",
    "Salicylic Aldehyde": "Salicylaldehyde",
    "Tree Moss Extract": "Evernia Furfuracea Extract",
    "trans-beta-Caryophyllene": "Beta-Caryophyllene",
    "trans-Cinnamaldehyde": "Cinnamal",
}
GREEK = {"α": "alpha", "β": "beta", "γ": "gamma", "δ": "delta"}
# Which mirror image it is: (R)-(+)-Limonene is limonene.
MIRRORS = re.compile(r"\((?:[rsez]|\+|-|\+/-|±|[rs],[rs])\)-?", re.IGNORECASE)


def folded(name: str) -> str:
    """Return a name without what two certificates write differently: case, marks, Greek letters.

    >>> folded("(R)-(+)-Limonene"), folded("α-Pinene"), folded("BENZYL  ALCOHOL")
    ('limonene', 'alphapinene', 'benzylalcohol')
    """
    plain = MIRRORS.sub("", name.replace("\u2212", "-").replace("\u2010", "-"))
    spelled = "".join(GREEK.get(letter, letter) for letter in plain.casefold())
    return "".join(letter for letter in spelled if letter.isalnum())


def _known() -> dict[str, str]:
    found = {folded(other): name for other, name in SYNONYMS.items()}
    for allergen in ALLERGENS:
        found |= {folded(key): key for key in (allergen.name, *allergen.aliases)}
    return found | {folded(name): name for name in PROHIBITED}


KNOWN = _known()
ENTRY = {
    folded(key): allergen.number
    for allergen in ALLERGENS
    for key in (allergen.name, *allergen.aliases)
}


def listed_name(name: str) -> str | None:
    """Return the list's own spelling of a name, or None when it is not on the list.

    A component keeps its own name: geranial stays Geranial, and counts as Citral.

    Units: none. Error: none. Source: the names of the list; `SYNONYMS` are from memory.
    Raises: nothing.

    >>> listed_name("D-LIMONENE"), listed_name("cinnamaldehyde"), listed_name("1,8-Cineole")
    ('d-Limonene', 'Cinnamal', None)
    """
    return KNOWN.get(folded(name))


def near_names(name: str, most: int = 2) -> list[str]:
    """Return names of the list that a misspelt one may have been meant as, likeliest first.

    Units: none. Error: a guess. Source: common practice, no source. Raises: nothing.

    >>> near_names("Limonen"), near_names("Water")
    (['Limonene'], [])
    """
    close = get_close_matches(folded(name), KNOWN, n=4 * most, cutoff=3 / 4)
    found: dict[int | str, str] = {}
    for key in close:
        found.setdefault(ENTRY.get(folded(KNOWN[key]), key), KNOWN[key])
    return list(found.values())[:most]
