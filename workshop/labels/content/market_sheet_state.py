"""What is still missing before a product is labelled for a market: its sheet and its claims."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from workshop.core.models import Workshop
from workshop.labels.content.label import design_of
from workshop.labels.content.market_terms import languages_of, sheet_facts, terms_of, words_of
from workshop.labels.models import ClaimAnswer, ClaimProof, LabelVersion, MarketSheet
from workshop.packing.models import Product
from workshop.rules.claims.matching import FoundWord, find_words
from workshop.rules.labels.organic_claims import claim_said, percent_said
from workshop.rules.markets.laws import law_of
from workshop.rules.markets.market_sheet_check import SheetProblem, sheet_problems


def problems_of(sheet: MarketSheet) -> tuple[SheetProblem, ...]:
    """What keeps a sheet from being approved."""
    product = sheet.product
    design, terms = design_of(product), terms_of([product.pk])
    words = words_of(product, design, sheet, [], terms.phrases)
    facts = sheet_facts(sheet, Workshop.objects.first(), words.untranslated, design.claims)
    return sheet_problems(facts, law_of(sheet.market))


@dataclass(frozen=True)
class ClaimState:
    """One claim of a product, with what supports it."""

    claim: str
    proof: ClaimProof | None

    @property
    def is_of_the_book(self) -> bool:
        """Whether the book itself bears it out or refuses it: what is said of organic shares."""
        return bool(claim_said(self.claim) or percent_said(self.claim))


@dataclass(frozen=True)
class WordState:
    """Words on a label that may make it a drug, and what an owner answered."""

    found: FoundWord
    answer: ClaimAnswer | None


def claims_of(product: Product, claims: str) -> list[ClaimState]:
    """Each claim, one per line, with its newest proof."""
    proofs: dict[str, ClaimProof] = {}
    for proof in ClaimProof.objects.filter(product=product).select_related("by", "document"):
        proofs.setdefault(_key(proof.claim), proof)
    lines = [line.strip() for line in claims.splitlines() if line.strip()]
    return [ClaimState(line, proofs.get(_key(line))) for line in lines]


def words_found(
    product: Product, texts: Iterable[str], market: str, languages: Sequence[str]
) -> list[WordState]:
    """The words of these texts that stop an approval, each with the answer to its sentence."""
    answers: dict[tuple[str, str], ClaimAnswer] = {}
    for answer in ClaimAnswer.objects.filter(product=product).select_related("by"):
        answers.setdefault((_key(answer.sentence), answer.word), answer)
    found = find_words("\n".join(filter(None, texts)), law_of(market), languages)
    return [WordState(one, answers.get((_key(one.sentence), one.word))) for one in found]


def design_words(product: Product, sheet: MarketSheet) -> list[WordState]:
    """The same of what a product's labels would say in a market today."""
    design, terms = design_of(product), terms_of([product.pk])
    words = words_of(product, design, sheet, [], terms.phrases)
    texts = (product.label_name, words.identity, words.claims, words.directions)
    english = (product.identity, design.claims, product.directions)
    every = dict.fromkeys("\n".join((*texts, *english)).splitlines())
    return words_found(product, every, sheet.market, languages_of(sheet))


def approval_stops(version: LabelVersion) -> list[str]:
    """Why a draft may not be approved: its sheet, its claims, its words; each names its rule."""
    law = law_of(version.market)
    sheet = MarketSheet.objects.filter(product=version.product, market=version.market).first()
    if sheet is None or sheet.approved_at is None:
        missing = f" {' '.join(one.told for one in problems_of(sheet))}" if sheet else ""
        stops = [f"The market sheet for {law.code} is not approved yet.{missing}"]
    else:
        stops = [one.told for one in problems_of(sheet)]
    english = claims_of(version.product, design_of(version.product).claims)
    for claim in english or claims_of(version.product, version.claims):
        if claim.proof is None and not claim.is_of_the_book:
            stops.append(
                f"There is no evidence for the claim “{claim.claim}”: enter its evidence first "
                f"({law.claims_rule})."
            )
    texts = (version.name, version.identity, version.claims, version.directions)
    for word in words_found(version.product, texts, version.market, version.languages):
        if word.answer is None:
            stops.append(
                f"{word.found.told} An owner answers for it under Claims, or leaves it out."
            )
    return stops


def _key(text: str) -> str:
    return " ".join(text.split()).casefold()
