"""The words that follow from a composition and a market, whether for a lot or for a formula."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from workshop.core.models import (
    Workshop,
)
from workshop.labels.content.inputs import LabelInputs, saponified
from workshop.labels.content.market_terms import (
    ENGLISH,
    MarketTerms,
    SheetWords,
    maker_lines,
    responsible_lines,
    sheet_facts,
    words_of,
)
from workshop.labels.content.required_warnings import statement_texts, statement_warnings
from workshop.labels.content.stated_contents import contents_warnings, net_contents
from workshop.labels.models import LabelDesign, SoapNaming
from workshop.materials.ingredients import Shares
from workshop.packing.fill_control.figures import FillCheck
from workshop.packing.models import Product
from workshop.packing.promises import promise_us
from workshop.rules.allergens.thresholds import CAUTION, allergen_limit_problems, allergens_to_name
from workshop.rules.ingredients import organic_share
from workshop.rules.ingredients.composition import Constituent
from workshop.rules.ingredients.declaration import (
    Declaration,
    declare,
    read_colours,
    weighed_colours,
)
from workshop.rules.ingredients.declaration import Market as ListMarket
from workshop.rules.ingredients.organic_share import Category, OrganicClassification
from workshop.rules.labels.net_contents import NetContents
from workshop.rules.markets.laws import law_of
from workshop.rules.markets.market_sheet_check import SheetProblem, sheet_problems
from workshop.rules.markets.phrases import LANGUAGES, Phrases, filled, phrase

# The claims a label may carry in front, the strongest first.
CLAIMS: tuple[Category, ...] = ("100 percent organic", "organic", "made with organic")


ASK_THE_CERTIFIER = (
    "In this soap the oils are organic, not the salts made of them, so no mark stands at a salt. "
    "Ask your certifier which words it accepts, such as “Saponified organic olive oil”, before the "
    "label is printed."
)


@dataclass(frozen=True)
class Wording:
    """What the law and the composition say; `allergens` are those to be named, with shares."""

    market: ListMarket
    composition: Shares
    declaration: Declaration
    allergens: Mapping[str, Fraction]
    classification: OrganicClassification
    claim: Category | None
    organic_statement: str
    made_with: tuple[str, ...]
    organic_percent: int | None
    words: SheetWords
    cautions: str
    maker_lines: tuple[str, ...]
    responsible_lines: tuple[str, ...]
    certifier_line: str
    net_contents: str
    promise: NetContents
    sheet_problems: tuple[SheetProblem, ...]
    stops: tuple[str, ...]
    warnings: tuple[str, ...]


def wording_of(
    product: Product,
    design: LabelDesign,
    workshop: Workshop,
    market: ListMarket,
    basis: LabelInputs,
    *,
    terms: MarketTerms,
    check: FillCheck | None = None,
) -> Wording:
    """The computed words. Raises RuleError or ActionRefused for what cannot be declared."""
    composition, law, sheet = basis.composition, law_of(market), terms.sheet(product, market)
    words = words_of(product, design, sheet, statement_texts(design), terms.phrases)
    shades = read_colours(design.may_contain.splitlines())
    classification = organic_share.organic_classification(composition, terms.limits)
    claim = _claim(basis.composition, classification) if product.claims_organic else None
    allergens = _allergens(basis, market)
    made_with = _made_with(composition) if claim == "made with organic" else ()
    promise = promise_us(product, ounce_decimals=design.ounce_decimals)
    problems = sheet_problems(sheet_facts(sheet, workshop, words.untranslated, design.claims), law)
    is_soap = design.soap_naming == SoapNaming.SAPONIFIED
    return Wording(
        market=market,
        composition=composition,
        declaration=declare(
            saponified(composition, by_oil=law.dictionary == "dictionary")
            if is_soap
            else composition,
            market,
            allergens=allergens,
            may_contain=shades,
            fragrance="named" if design.names_fragrance else "word",
            own_names=terms.names_in(market),
        ).in_languages(words.languages, terms.phrases),
        allergens=allergens,
        classification=classification,
        claim=claim,
        organic_statement=organic_statement(
            claim, classification.percent, made_with, words.languages, terms.phrases
        ),
        made_with=made_with,
        organic_percent=classification.percent if claim == "organic" else None,
        words=words,
        cautions=words.cautions,
        maker_lines=maker_lines(workshop, sheet),
        responsible_lines=responsible_lines(sheet, law, terms.phrases),
        certifier_line=certifier_line(workshop, words.languages, terms.phrases) if claim else "",
        net_contents=net_contents(
            product, market, promise, has_e_mark=_has_e_mark(design, market, check)
        ),
        promise=promise,
        sheet_problems=problems,
        stops=(
            *(allergen_limit_problems(basis.allergens) if law.names_allergens else ()),
            *(one.told for one in problems if one.stops_print),
        ),
        warnings=(
            *_warnings(basis, design, market, allergens),
            *contents_warnings(product, market, promise),
            *statement_warnings(design),
            *_shade_warnings(basis.composition, shades, market),
            *_unnamed(made_with, words, terms.phrases),
        ),
    )


def _allergens(basis: LabelInputs, market: ListMarket) -> dict[str, Fraction]:
    """Those to be named, by the market's own list; the US names none yet."""
    law = law_of(market)
    if not law.names_allergens:
        return {}
    return allergens_to_name(
        basis.allergens, basis.use, basis.placed_on, longer_list_from=law.longer_list_from
    )


def _claim(composition: Shares, classification: OrganicClassification) -> Category | None:
    """The strongest claim that nothing in the lot speaks against.

    Where every organic ingredient is there as not organic too, there is none to be made with.
    """
    possible = [claim for claim in CLAIMS if _rank(claim) <= _rank(classification.category)]
    if not organic_share.biggest_organic(composition):
        possible = [claim for claim in possible if claim != "made with organic"]
    limits = classification.limits
    return next(
        (c for c in possible if not organic_share.claim_problems(composition, c, limits)), None
    )


def _rank(category: Category) -> int:
    return organic_share.RANKS.index(category)


def _made_with(composition: Shares) -> tuple[str, ...]:
    named = organic_share.biggest_organic(composition)
    return tuple(part.common_name or part.inci_name for part in named)


def organic_statement(
    claim: str | None,
    percent: int | None,
    made_with: Sequence[str],
    languages: Sequence[str] = ENGLISH,
    own: Phrases | None = None,
) -> str:
    """What stands below the name of a product with this claim, in the languages of its label."""
    said = (_organic_in(one, claim, percent, made_with, own) for one in languages)
    return " / ".join(dict.fromkeys(filter(None, said)))


def _organic_in(
    language: str,
    claim: str | None,
    percent: int | None,
    made_with: Sequence[str],
    own: Phrases | None,
) -> str:
    if claim == "made with organic":
        english = organic_share.made_with_statement(made_with)
        *first, last = (phrase(name, language, own) or name for name in made_with)
        listed = filled("{} and {}", (", ".join(first), last), language, own) if first else last
        words = filled("Made with organic {}", (listed,), language, own)
        return english if language == "en" else words
    if claim == "organic":
        return filled("{}% organic ingredients", (str(percent),), language, own)
    return filled(claim.capitalize(), (), language, own) if claim else ""


def certifier_line(
    workshop: Workshop, languages: Sequence[str] = ENGLISH, own: Phrases | None = None
) -> str:
    """What a label that claims to be organic says of the certifier, in its first language."""
    if not workshop.certified_by:
        return ""
    english = organic_share.certifier_line("{}")
    return filled(english, (workshop.certified_by,), languages[0], own)


def _unnamed(made_with: Sequence[str], words: SheetWords, own: Phrases) -> Iterable[str]:
    for language in words.languages:
        for name in made_with:
            if phrase(name, language, own) is None:
                spoken = LANGUAGES.get(language, language)
                yield (
                    f"The table of words has no {spoken} name for “{name}”, which the organic "
                    "statement names: add it under Words on labels."
                )


def _has_e_mark(design: LabelDesign, market: str, check: FillCheck | None) -> bool:
    return bool(design.has_e_mark and law_of(market).has_e_mark and check and check.supports_e_mark)


def _warnings(
    basis: LabelInputs, design: LabelDesign, market: ListMarket, allergens: Mapping[str, Fraction]
) -> Iterable[str]:
    has_fragrance = any(part.kind == "fragrance" for part in basis.composition)
    if law_of(market).names_allergens and has_fragrance and not basis.allergens:
        yield (
            "Fragrance stands in the list as one word. Allergens in it above their threshold must "
            "be named as well: enter what its certificate of analysis gives, and have a qualified "
            "assessor check them."
        )
    if allergens:
        yield f"Allergens: {CAUTION}"
    is_soap = design.soap_naming == SoapNaming.SAPONIFIED
    if is_soap and any(part.is_organic and part.soap_name for part in basis.composition):
        yield ASK_THE_CERTIFIER
    if design.has_e_mark and law_of(market).has_e_mark:
        yield "The e mark stands only on runs whose fill check supports it."


def _shade_warnings(
    composition: Shares, shades: Sequence[Constituent], market: ListMarket
) -> Iterable[str]:
    for colour in weighed_colours(composition, shades):
        yield (
            f"{colour.inci_name} is in this lot, so it stands in the list itself and not after "
            "“may contain”."
        )
    unnamed = [shade.inci_name for shade in shades if not shade.common_name]
    if law_of(market).dictionary == "dictionary" and unnamed:
        yield (
            f"The US calls a colour by the name under which it is listed (21 CFR 73 and 74), such "
            f"as Iron Oxides: give it in brackets after {', '.join(unnamed)}."
        )
