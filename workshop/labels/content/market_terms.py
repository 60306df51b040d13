"""What is kept by market: sheets, the owner's names and the owner's words, read at once."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import NamedTuple, cast

from workshop.core.models import Workshop
from workshop.labels.models import LabelDesign, MadeFor, MarketSheet, OwnName, Phrase
from workshop.materials.ingredients import limits_of
from workshop.packing.models import Product
from workshop.rules.ingredients.organic_share import BY_RULE, Limits
from workshop.rules.labels.organic_claims import claim_said
from workshop.rules.markets.laws import law_of
from workshop.rules.markets.market_law import Law
from workshop.rules.markets.market_sheet_check import ProductClass, SheetFacts
from workshop.rules.markets.phrases import Phrases, filled, in_languages, own_phrases, phrase

ENGLISH = ("en",)


class PhraseKept(NamedTuple):
    """What a row of the owner's words became, and when."""

    row: int
    at: datetime
    language: str
    english: str
    text: str
    is_taken_out: bool


@dataclass(frozen=True)
class MarketTerms:
    """Sheets by product and market, names by market and entered name, words by language.

    `phrases` are the words of today; `kept` are all that ever were, the earliest first.
    """

    sheets: Mapping[tuple[int, str], MarketSheet] = field(default_factory=dict)
    names: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    phrases: Phrases = field(default_factory=dict)
    kept: tuple[PhraseKept, ...] = ()
    limits: Limits = BY_RULE  # of the scheme that labels follow

    def sheet(self, product: Product, market: str) -> MarketSheet:
        """The sheet of a product in a market, or an empty one where none is written."""
        found = self.sheets.get((product.pk, market))
        return found or MarketSheet(product=product, market=market, languages=["en"])

    def names_in(self, market: str) -> Mapping[str, str]:
        return self.names.get(market, {})

    def phrases_of(self, approved_at: datetime | None) -> Phrases:
        """The words as they were when a label was approved; of a draft those of today."""
        if approved_at is None:
            return self.phrases
        rows = {one.row: one for one in self.kept if one.at <= approved_at}
        held = [one for one in rows.values() if not one.is_taken_out]
        return own_phrases({(one.language, one.english): one.text for one in held})


def terms_of(products: Iterable[int]) -> MarketTerms:
    """The terms of these products, in as many queries whatever their number."""
    sheets = MarketSheet.objects.filter(product__in=set(products)).select_related("responsible")
    names: dict[str, dict[str, str]] = {}
    for row in OwnName.objects.all():
        names.setdefault(row.market, {})[row.inci_name.casefold()] = row.name
    words = {(row.language, row.english): row.text for row in Phrase.objects.all()}
    return MarketTerms(
        {(sheet.product_id, str(sheet.market)): sheet for sheet in sheets},
        names,
        own_phrases(words),
        _kept_phrases(),
        limits_of(),
    )


def _kept_phrases() -> tuple[PhraseKept, ...]:
    rows = Phrase.history.order_by("history_date", "history_id").values_list(
        "id", "history_date", "language", "english", "text", "history_type"
    )
    return tuple(
        PhraseKept(pk, at, language, english, text, is_taken_out=kind == "-")
        for pk, at, language, english, text, kind in rows
    )


def languages_of(sheet: MarketSheet) -> tuple[str, ...]:
    return tuple(sheet.languages) or ENGLISH


@dataclass(frozen=True)
class SheetWords:
    """What a label says in its languages; `untranslated` is what the table has no words for."""

    languages: tuple[str, ...]
    identity: str
    claims: str
    directions: str
    cautions: str
    untranslated: tuple[str, ...]


def words_of(
    product: Product, design: LabelDesign, sheet: MarketSheet, fixed: Iterable[str], own: Phrases
) -> SheetWords:
    """The product's words in the languages of a sheet; `fixed` are those that a law words."""
    languages = languages_of(sheet)
    cautions = "\n".join(
        part.strip() for part in (product.cautions, sheet.warnings) if part.strip()
    )
    texts = (sheet.function or product.identity, design.claims, product.directions, cautions)
    told = [in_languages(text.strip(), languages, own) for text in texts]
    identity, claims, directions, cautions = (words for words, _ in told)
    missing = [words for _, words in told]
    missing.append(_unworded(law_of(sheet.market), design, sheet, own))
    return SheetWords(
        languages,
        identity,
        claims,
        directions,
        "\n".join(filter(None, [*fixed, cautions])),
        tuple(dict.fromkeys(words for each in missing for words in each)),
    )


def _unworded(law: Law, design: LabelDesign, sheet: MarketSheet, own: Phrases) -> list[str]:
    """What the book itself writes around dates and origin and has no words for in a language."""
    asked = {
        f"{law.date_phrase} {{}}": not (design.has_hourglass and law.has_hourglass),
        "Keeps {} months from {}": design.keeps_months,
        "Use within {} months of opening": design.opened_months and not law.has_open_jar,
        "Country of origin: {}": sheet.origin and law.needs_responsible_person,
    }
    return [
        words
        for words, is_printed in asked.items()
        for language in languages_of(sheet)
        if is_printed and phrase(words, language, own) is None
    ]


def maker_lines(workshop: Workshop, sheet: MarketSheet | None = None) -> tuple[str, ...]:
    """The maker as labels name it, or the firm it is made for or distributed by."""
    lines = (workshop.name, *workshop.address.splitlines(), workshop.contact)
    ours = tuple(line.strip() for line in lines if line.strip())
    if sheet is None or sheet.responsible is None or sheet.made_for == MadeFor.OURSELVES:
        return ours
    words = "Manufactured for {}" if sheet.made_for == MadeFor.FOR else "Distributed by {}"
    first, *rest = sheet.responsible.lines
    said = filled(words, (first,), languages_of(sheet)[0])
    return (said, *rest, *filter(None, [sheet.responsible.contact or workshop.contact.strip()]))


def responsible_lines(sheet: MarketSheet, law: Law, own: Phrases) -> tuple[str, ...]:
    """The responsible person and the country of origin, where the law asks for them."""
    if not law.needs_responsible_person:
        return ()
    languages = languages_of(sheet)
    lines = []
    if sheet.responsible:
        address = ", ".join(sheet.responsible.lines)
        lines.append(_filled("Responsible person: {}", address, languages[:1], own))
    if sheet.origin:
        lines.append(_filled("Country of origin: {}", sheet.origin, languages, own))
    return tuple(lines)


def _filled(english: str, value: str, languages: Iterable[str], own: Phrases) -> str:
    return " / ".join(dict.fromkeys(filled(english, (value,), one, own) for one in languages))


def sheet_facts(
    sheet: MarketSheet, workshop: Workshop | None, untranslated: Iterable[str], claims: str
) -> SheetFacts:
    """A sheet as its rules see it."""
    party = sheet.responsible
    return SheetFacts(
        product_class=cast(ProductClass, sheet.product_class),
        responsible=", ".join(party.lines) if party else "",
        responsible_country=party.country if party else "",
        maker=workshop.name if workshop else "",
        contact=(party.contact if party else "") or (workshop.contact if workshop else ""),
        origin=sheet.origin,
        languages=tuple(sheet.languages),
        function=sheet.function or sheet.product.identity,
        substantiated_by=sheet.substantiated_by,
        substantiated_on=sheet.substantiated_on,
        untranslated=tuple(untranslated),
        other_than_soap=tuple(
            line.strip() for line in claims.splitlines() if line.strip() and not claim_said(line)
        ),
    )
