"""Finding an entry of the allergen list by whatever name a certificate uses for it."""

import re
from difflib import get_close_matches

from workshop.rules.allergens.annex_iii import ALLERGENS
from workshop.rules.allergens.prohibited_scents import PROHIBITED

# The list's own name -> other names in use, of chemistry and of the trade; from memory.
_OTHERS = {
    "Acetyl Cedrene": (
        "Methyl Cedryl Ketone",
        "Vertofix",
    ),
    "Alpha-Isomethyl Ionone": (
        "Isomethyl Ionone",
        "gamma-Methyl Ionone",
        "gamma-Methylionone",
        "alpha-iso-Methyl Ionone",
    ),
    "Alpha-Terpinene": ("alpha-Terpinen",),
    "Amyl Cinnamal": (
        "alpha-Amylcinnamaldehyde",
        "alpha-Amyl Cinnamic Aldehyde",
        "Amyl Cinnamaldehyde",
        "Amyl Cinnamic Aldehyde",
        "Amylcinnamic Aldehyde",
    ),
    "Amylcinnamyl Alcohol": (
        "Amyl Cinnamic Alcohol",
        "Amylcinnamic Alcohol",
        "alpha-Amylcinnamyl Alcohol",
    ),
    "Anise Alcohol": (
        "Anisyl Alcohol",
        "p-Anisyl Alcohol",
        "4-Methoxybenzyl Alcohol",
        "Anisic Alcohol",
    ),
    "Benzaldehyde": ("Benzoic Aldehyde",),
    "Beta-Caryophyllene": (
        "Caryophyllene",
        "trans-beta-Caryophyllene",
    ),
    "Cinnamal": (
        "Cinnamaldehyde",
        "Cinnamic Aldehyde",
        "trans-Cinnamaldehyde",
    ),
    "Cinnamyl Alcohol": ("Cinnamic Alcohol",),
    "Dimethyl Phenethyl Acetate": (
        "Dimethyl Benzyl Carbinyl Acetate",
        "DMBCA",
        "Dimethylbenzylcarbinyl Acetate",
    ),
    "Eugenyl Acetate": (
        "Acetyleugenol",
        "Eugenol Acetate",
        "Acetyl Eugenol",
    ),
    "Evernia Furfuracea Extract": (
        "Tree Moss Extract",
        "Tree Moss",
        "Tree Moss Absolute",
        "Evernia Furfuracea",
        "Evernia Furfuracea Lichen Extract",
        "Pseudevernia Furfuracea",
        "Pseudevernia Furfuracea Extract",
        "Cedar Moss",
    ),
    "Evernia Prunastri Extract": (
        "Oak Moss Extract",
        "Oak Moss",
        "Oak Moss Absolute",
        "Oak Moss Concrete",
        "Evernia Prunastri",
        "Evernia Prunastri Lichen Extract",
        "Mousse de Chêne",
    ),
    "Geranyl Acetate": ("Geraniol Acetate",),
    "Hexadecanolactone": (
        "Cyclohexadecanolide",
        "Dihydroambrettolide",
        "1,16-Hexadecanolide",
    ),
    "Hexamethylindanopyran": (
        "Galaxolide",
        "HHCB",
        "Galaxolide 50",
        "Abbalide",
        "1,3,4,6,7,8-Hexahydro-4,6,6,7,8,8-hexamethylcyclopenta-gamma-2-benzopyran",
    ),
    "Hexyl Cinnamal": (
        "alpha-Hexylcinnamaldehyde",
        "alpha-Hexyl Cinnamaldehyde",
        "alpha-Hexyl Cinnamic Aldehyde",
        "Hexyl Cinnamaldehyde",
        "Hexyl Cinnamic Aldehyde",
    ),
    "Hydroxycitronellal": ("7-Hydroxycitronellal",),
    "Isoeugenyl Acetate": (
        "Isoeugenol Acetate",
        "Acetyl Isoeugenol",
    ),
    "Linalyl Acetate": ("Linalool Acetate",),
    "Methyl 2-Octynoate": (
        "Methyl Heptine Carbonate",
        "Methyl Heptin Carbonate",
        "MHC",
        "Folione",
    ),
    "Myroxylon Pereirae Oil/Extract": (
        "Peru Balsam",
        "Balsam of Peru",
        "Peru Balsam Oil",
        "Balsam Peru",
    ),
    "Rose Ketones": ("Rose Ketone",),
    "Salicylaldehyde": ("Salicylic Aldehyde",),
    "Tetramethyl acetyloctahydronaphthalenes": (
        "Tetramethyl Acetyloctahydronaphthalene",
        "OTNE",
        "ISO E Super",
        "Isocyclemone E",
        "Octahydrotetramethyl Acetonaphthone",
        "Acetyl Octahydrotetramethylnaphthalene",
    ),
    "Trimethylbenzenepropanol": (
        "Majantol",
        "2,2-Dimethyl-3-(3-methylphenyl)propanol",
        "Trimethyl Benzenepropanol",
    ),
    "Trimethylcyclopentenyl Methylisopentenol": (
        "Ebanol",
        "3-Methyl-5-(2,2,3-trimethyl-3-cyclopentenyl)pent-4-en-2-ol",
    ),
    "Turpentine": (
        "Turpentine Oil",
        "Gum Turpentine",
    ),
    "Vanillin": ("Vanilline",),
}
SYNONYMS = {other: name for name, others in _OTHERS.items() for other in others}
GREEK = {"α": "alpha", "β": "beta", "γ": "gamma", "δ": "delta"}
# What is said of a scent besides its name: where it is from, or that all its forms are meant.
QUALIFIERS = re.compile(
    r"\b(?:total|sum|of|all|both|each|isomers?|mixed|mixture|mix|racemic|natural|nat|synthetic"
    r"|synth|nature[- ]identical|pure|extra|technical|crude|free|as such)\b\.?",
    re.IGNORECASE,
)
IN_BRACKETS = re.compile(r"\([^()]*\)")
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
    for name, entry in PROHIBITED.items():
        found |= {folded(key): name for key in (name, *entry.others)}
    return found


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
    >>> listed_name("Total citral (isomers)"), listed_name("Linalool natural")
    ('Citral', 'Linalool')
    """
    plain = IN_BRACKETS.sub(" ", name)
    tried = (name, plain, QUALIFIERS.sub(" ", name), QUALIFIERS.sub(" ", plain))
    return next((KNOWN[folded(one)] for one in tried if folded(one) in KNOWN), None)


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
