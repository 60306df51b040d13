"""One usual material with its names by market."""

import re
from dataclasses import dataclass

# A word of a living language inside a Latin name; "(nano)" and numbers of colours stay.
_ENGLISH = re.compile(r"\s*\((?!nano\)|(?i:ci) ?\d)[^()]*\)")


@dataclass(frozen=True)
class Named:
    """A material: its name in the trade, in the glossary of the EU and in the US dictionary.

    `cas` holds one or more CAS numbers, parted by spaces; `function` is what it does in a
    cosmetic, in the words of the glossary; `colour_index` is its number as a colour.
    """

    common: str
    glossary: str
    dictionary: str
    cas: str = ""
    function: str = ""
    colour_index: str = ""

    @property
    def cas_numbers(self) -> tuple[str, ...]:
        return tuple(self.cas.split())


def without_english(name: str) -> str:
    """Return a name as the EU glossary writes it: without its English part in brackets.

    Units, error: none. Source: the glossary of Decision (EU) 2025/1175 gives Latin names of plants
        by themselves; the dictionary of the US has the common name in brackets. Raises: nothing.

    >>> without_english("Helianthus Annuus (Sunflower) Seed Oil")
    'Helianthus Annuus Seed Oil'
    >>> without_english("Zinc Oxide (nano)")
    'Zinc Oxide (nano)'
    """
    return " ".join(_ENGLISH.sub(" ", name).split())


def read_table(text: str) -> tuple[Named, ...]:
    """Return the materials of a table: a line each, under a line with their function.

    >>> read_table("emollient:\\nOlive oil; Olea Europaea (Olive) Fruit Oil; 8001-25-0")[0].glossary
    'Olea Europaea Fruit Oil'
    """
    found, function = [], ""
    for line in filter(None, text.splitlines()):
        if line.endswith(":"):
            function = line.removesuffix(":")
            continue
        common, dictionary, cas, glossary, colour, *_ = [
            *map(str.strip, line.split(";")),
            "",
            "",
            "",
        ]
        glossary = glossary or without_english(dictionary)
        found.append(Named(common, glossary, dictionary, cas, function, colour))
    return tuple(found)
