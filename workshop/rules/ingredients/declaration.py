"""The ingredient list of a label, computed from what is really in the lot."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from workshop.rules.errors import RuleError
from workshop.rules.ingredients.composition import Composition, Constituent
from workshop.rules.ingredients.names.by_market import known_material, name_by
from workshop.rules.markets.laws import law_of
from workshop.rules.markets.phrases import Phrases, in_languages

# The code of one of the `markets`.
Market = str
Group = Literal["main", "one_percent", "allergen", "colourant"]
FragranceNaming = Literal["word", "named"]

ONE_PERCENT = Fraction(1, 100)
ORGANIC_MARK = "*"
ORGANIC_LINE = "* organic ingredient"
# A number of the Colour Index; a lake or a salt of the colour has a further figure after a colon.
COLOUR_INDEX = re.compile(r"c\.?\s*i\.?\s*(\d{5}(?::\d)?)", re.IGNORECASE)


@dataclass(frozen=True)
class DeclaredIngredient:
    """One name in the list; `is_organic` only when all of it is."""

    name: str
    share: Fraction
    is_organic: bool
    group: Group

    @property
    def text(self) -> str:
        return self.name + (ORGANIC_MARK if self.is_organic else "")


@dataclass(frozen=True)
class Declaration:
    """The ingredient list for one market, and its words as they are printed."""

    market: Market
    entries: tuple[DeclaredIngredient, ...]
    may_contain: tuple[str, ...] = ()
    organic_words: str = ORGANIC_LINE

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(entry.name for entry in self.entries)

    @property
    def list_text(self) -> str:
        """The list with its heading, and the colours that only some batches hold."""
        text = "Ingredients: " + ", ".join(entry.text for entry in self.entries)
        if not self.may_contain:
            return text + "."
        return text + law_of(self.market).may_contain.format(", ".join(self.may_contain))

    @property
    def organic_line(self) -> str:
        """The line that explains the mark, or nothing where no mark stands."""
        return self.organic_words if any(entry.is_organic for entry in self.entries) else ""

    def in_languages(self, languages: tuple[str, ...], own: Phrases | None = None) -> "Declaration":
        """The same list with the line that explains its mark in the languages of the label."""
        return replace(self, organic_words=in_languages(ORGANIC_LINE, languages, own)[0])

    @property
    def text(self) -> str:
        return "\n".join(filter(None, (self.list_text, self.organic_line)))


def declare(
    composition: Composition,
    market: Market,
    *,
    allergens: Mapping[str, Fraction] | None = None,
    may_contain: Sequence[Constituent] = (),
    fragrance: FragranceNaming = "word",
    mark_organic: bool = True,
    own_names: Mapping[str, str] | None = None,
) -> Declaration:
    """Return the ingredient list of `composition` for `market`.

    Descending weight; ties by name. Organic and other forms of one name are one entry, marked
    organic only when all of it is. Colourants come last, and one of `may_contain` that is in the
    lot stands in the list itself instead. An extract of what was strained out is named though its
    share is none. At one per cent any order is allowed
    (US: not more than 1 %; EU: less than 1 %), and this list keeps descending order there too,
    which both rules accept; the group is told in each entry. Fragrance is one word, or with
    `fragrance="named"` each by its own name. The word, water and salt are never marked organic.
    `own_names` are the owner's names for this market, by the name entered.

    Units: shares are fractions of the whole, by weight at the time of addition; `allergens`
        gives the label names of fragrance allergens above their threshold and their shares.
    Error: none.
    Source: 21 CFR 701.3(a), (f); (g) "may contain" for a colour of some batches or of a range of
        shades; Regulation (EC) 1223/2009, article 19(1)(g), "may contain" or "+/-" for the colours
        of a range of decorative shades; the organic mark 7 CFR 205.303(b)(1). The local
        authority has the last word.
    Raises: RuleError for an unknown market, an empty composition, or a "may contain" that is
        no colourant.

    >>> oil, wax = Constituent("Olive Oil", is_organic=True), Constituent("Cera Alba", "Beeswax")
    >>> print(declare({wax: Fraction(1, 5), oil: Fraction(4, 5)}, "US").text)
    Ingredients: Olive Oil*, Beeswax.
    * organic ingredient
    """
    _check(composition, market, may_contain)
    merged = _merged(composition, market, fragrance, own_names)
    entries = [_entry(name, parts, market) for name, parts in merged.items()]
    if not mark_organic:
        entries = [replace(entry, is_organic=False) for entry in entries]
    have = {entry.name.casefold() for entry in entries}
    entries += [
        DeclaredIngredient(name, share, is_organic=False, group="allergen")
        for name, share in (allergens or {}).items()
        if name.casefold() not in have
    ]
    held = {colour.inci_name for colour in weighed_colours(composition, may_contain)}
    colours = tuple(label_name(c, market) for c in may_contain if c.inci_name not in held)
    return Declaration(market, tuple(_in_order(entries)), colours)


def weighed_colours(
    composition: Composition, may_contain: Iterable[Constituent]
) -> tuple[Constituent, ...]:
    """Return those of the colours that only some batches hold which this lot does hold.

    Units: none. Error: none. Raises: nothing.
    Source: 21 CFR 701.3(g): "may contain" is for a colour that is not in the product.

    >>> red, black = read_colour("CI 77491"), read_colour("CI 77499")
    >>> [colour.inci_name for colour in weighed_colours({red: Fraction(1, 50)}, [red, black])]
    ['CI 77491']
    """
    held = {part.inci_name.casefold() for part, share in composition.items() if share}
    return tuple(colour for colour in may_contain if colour.inci_name.casefold() in held)


def read_colour(text: str) -> Constituent:
    """Return a colour from its name as typed: "CI 77491", or with its other name in brackets.

    Units: none. Error: none.
    Source: Regulation (EC) 1223/2009, article 19(1)(g), for the numbers of the Colour Index; the
        US calls a colour by the name under which it is listed, 21 CFR parts 73 and 74.
    Raises: RuleError when it cannot be read.

    >>> read_colour("ci77491 (Iron Oxides)").inci_name, read_colour("Mica (CI 77019)").common_name
    ('CI 77491', 'Mica')
    """
    first, bracket, rest = " ".join(text.split()).partition("(")
    names = [first.strip(), rest.removesuffix(")").strip()]
    if bool(bracket) != text.strip().endswith(")") or (bracket and not all(names)):
        raise RuleError(f"“{text.strip()}”: close the bracket around the second name.")
    if not names[0] or any(re.search(r"[^\w :.,/&'’-]", name) for name in names):
        raise RuleError(f"“{text.strip()}” is not the name of a colour. Write it as CI 77491.")
    numbered = sorted(names, key=lambda name: COLOUR_INDEX.fullmatch(name) is None)
    inci, common = (COLOUR_INDEX.sub(r"CI \1", name) for name in numbered)
    if re.match(r"(?i)c\.?\s*i\b", inci) and not COLOUR_INDEX.fullmatch(inci):
        raise RuleError(f"“{inci}” is not a Colour Index number: five figures follow CI.")
    return Constituent(inci, common, "colourant")


def read_colours(lines: Iterable[str]) -> tuple[Constituent, ...]:
    """Return the colours of some lines, as `read_colour`; empty lines are passed over.

    Units, error, source: as `read_colour`. Raises: RuleError also for one that is there twice.

    >>> [colour.inci_name for colour in read_colours(["CI 77491", "", "CI 77499"])]
    ['CI 77491', 'CI 77499']
    """
    colours: dict[str, Constituent] = {}
    for line in lines:
        if line.strip():
            colour = read_colour(line)
            if colours.setdefault(colour.inci_name.casefold(), colour) is not colour:
                raise RuleError(f"{colour.inci_name} is there twice.")
    return tuple(colours.values())


def label_name(
    constituent: Constituent, market: Market, own_names: Mapping[str, str] | None = None
) -> str:
    """Return the name that a label in `market` prints for one constituent.

    Each market has its dictionary, `names.by_market`; a colour goes by its number, which the US
    puts behind the name under which it is listed. "(nano)" follows a nanomaterial.

    Units: none. Error: none.
    Source: 21 CFR 701.3(c), Regulation (EC) 1223/2009, articles 19(1)(g) and 33; the brackets
        are common practice, no source.
    Raises: RuleError for an unknown market.

    >>> label_name(Constituent("Aqua", "Water", "water"), "US")
    'Water'
    >>> label_name(Constituent("Cera Alba", "beeswax"), "US")
    'Beeswax'
    >>> label_name(Constituent("CI 77491", "", "colourant"), "US")
    'Iron Oxides (CI 77491)'
    """
    law = law_of(market)
    inci, common = constituent.inci_name, constituent.common_name
    if constituent.kind == "water" and inci.casefold() in {"aqua", "water", "aqua/water"}:
        return law.words["water"]
    if constituent.kind == "colourant":
        return _colour_name(constituent, market)
    name = name_by(law.dictionary, inci, common, own=own_names)
    is_marked = constituent.is_nano and law.dictionary == "glossary"
    return f"{name} (nano)" if is_marked and not name.endswith("(nano)") else name


def _colour_name(colour: Constituent, market: Market) -> str:
    inci, common = colour.inci_name, colour.common_name
    if law_of(market).dictionary == "glossary":
        return f"{inci} (nano)" if colour.is_nano else inci
    if common and common.casefold() not in inci.casefold():
        return f"{common} ({inci})"
    known = known_material(inci)
    return known.dictionary if known and known.colour_index and not common else inci


def in_any_order(share: Fraction, market: Market) -> bool:
    """Say whether an ingredient of this share may stand in any order after the greater ones.

    Units: fraction of the whole. Error: none.
    Source: 21 CFR 701.3(f)(2) "not more than 1 percent"; Regulation (EC) 1223/2009, article
        19(1)(g), less than 1 %. Raises: nothing.

    >>> in_any_order(Fraction(1, 100), "US"), in_any_order(Fraction(1, 100), "EU")
    (True, False)
    """
    return share < ONE_PERCENT or (share == ONE_PERCENT and law_of(market).one_percent_is_free)


def same_order_allowed(printed: Sequence[str], declaration: Declaration) -> bool:
    """Say whether a list already printed is still true for a lot whose list is `declaration`.

    It is when both hold the same names, and the printed order differs only where any order is
    allowed: between equal weights, at one per cent, and among colourants put last. Colourants
    may also stand in their place by weight.

    Units: names as in the entries. Error: none. Source: as `declare`. Raises: nothing.

    >>> blend = {Constituent("A"): Fraction(99, 100), Constituent("B"): Fraction(1, 100)}
    >>> lot = declare(blend, "US")
    >>> same_order_allowed(["A", "B"], lot), same_order_allowed(["B", "A"], lot)
    (True, False)
    """
    by_name = {entry.name: entry for entry in declaration.entries}
    if sorted(printed) != sorted(by_name):
        return False
    entries = [by_name[name] for name in printed]
    by_weight = [_rank(entry.share, declaration.market) for entry in entries]
    colours_last = [
        (2, Fraction()) if entry.group == "colourant" else rank
        for entry, rank in zip(entries, by_weight, strict=True)
    ]
    return by_weight == sorted(by_weight) or colours_last == sorted(colours_last)


def _check(composition: Composition, market: str, may_contain: Iterable[Constituent]) -> None:
    law_of(market)
    if not any(composition.values()):
        raise RuleError("There is nothing in this lot to declare.")
    for constituent in may_contain:
        if constituent.kind != "colourant":
            raise RuleError(
                f'Only a colour may stand after "may contain", and {constituent.inci_name} is none.'
            )


def _merged(
    composition: Composition,
    market: Market,
    fragrance: FragranceNaming,
    own_names: Mapping[str, str] | None,
) -> dict[str, list[tuple[Fraction, Constituent]]]:
    """Gather what one name covers."""
    merged: dict[str, list[tuple[Fraction, Constituent]]] = {}
    for constituent, share in composition.items():
        name = label_name(constituent, market, own_names)
        if constituent.kind in ("fragrance", "flavour") and fragrance == "word":
            # The word names no ingredient, so no mark stands at it.
            name = law_of(market).words[constituent.kind]
            constituent = replace(constituent, is_organic=False)
        if share or constituent.kind == "extract":
            merged.setdefault(name, []).append((share, constituent))
    return merged


def _entry(
    name: str, parts: list[tuple[Fraction, Constituent]], market: Market
) -> DeclaredIngredient:
    share = sum((part for part, _ in parts), Fraction())
    organic = all(c.is_organic and c.kind not in ("water", "salt") for _, c in parts)
    group: Group = "one_percent" if in_any_order(share, market) else "main"
    # What is a colour only in part keeps its place by weight.
    if all(constituent.kind == "colourant" for _, constituent in parts):
        group = "colourant"
    return DeclaredIngredient(name, share, organic, group)


def _in_order(entries: Iterable[DeclaredIngredient]) -> list[DeclaredIngredient]:
    """Colourants last, the rest by descending share; ties by name."""
    return sorted(
        entries,
        key=lambda entry: (entry.group == "colourant", -entry.share, entry.name.casefold()),
    )


def _rank(share: Fraction, market: Market) -> tuple[int, Fraction]:
    """Where an ingredient must stand; those of one rank may stand in any order."""
    return (1, Fraction()) if in_any_order(share, market) else (0, -share)
