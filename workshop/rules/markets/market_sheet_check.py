"""What a market sheet must hold before labels for that market are approved or printed."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from workshop.rules.markets.market_law import Law

ProductClass = Literal["cosmetic", "soap", "drug", "detergent"]


@dataclass(frozen=True, kw_only=True)
class SheetFacts:
    """A market sheet as its rules see it; countries are codes of two letters.

    `responsible` is the name and address of the responsible person, empty for none; `contact` is
    what the label gives for reports. `untranslated` are words that the label's languages lack;
    `other_than_soap` are claims that say more than cleaning.
    """

    product_class: ProductClass = "cosmetic"
    responsible: str = ""
    responsible_country: str = ""
    maker: str = ""
    contact: str = ""
    origin: str = ""
    languages: Sequence[str] = ()
    function: str = ""
    substantiated_by: str = ""
    substantiated_on: date | None = None
    untranslated: Sequence[str] = ()
    other_than_soap: Sequence[str] = ()


@dataclass(frozen=True)
class SheetProblem:
    """One thing that is missing or wrong; `stops_print` also for a label nobody approved."""

    subject: str
    sentence: str
    rule: str
    stops_print: bool = False

    @property
    def told(self) -> str:
        """The sentence with its rule."""
        return f"{self.sentence} ({self.rule})" if self.rule else self.sentence


def sheet_problems(sheet: SheetFacts, law: Law) -> tuple[SheetProblem, ...]:
    """Return what keeps a product from being labelled for a market; nothing when all is there.

    Units, error: none.
    Source: the law's own rules; 21 CFR 701.12 and 701.20; 21 U.S.C. 364e. Raises: nothing.

    >>> from workshop.rules.markets.laws import law_of
    >>> sheet = SheetFacts(languages=("de",), origin="US", function="Hand salve")
    >>> [one.subject for one in sheet_problems(sheet, law_of("EU"))]
    ['responsible', 'substantiation']
    """
    return (
        *_class_problems(sheet, law),
        *_party_problems(sheet, law),
        *_word_problems(sheet, law),
        *_proof_problems(sheet, law),
    )


def _class_problems(sheet: SheetFacts, law: Law) -> Iterator[SheetProblem]:
    if sheet.product_class == "drug":
        yield SheetProblem(
            "class",
            "It is entered as looking like a drug: it is not labelled as a cosmetic. Change the "
            "claims, or have it approved as what it is.",
            law.claims_rule,
            stops_print=True,
        )
    if sheet.product_class == "detergent":
        yield SheetProblem(
            "class",
            "It is entered as a detergent, and a label of the book is that of a cosmetic: it does "
            "not say what a detergent must.",
            law.detergent_rule,
            stops_print=True,
        )
    if sheet.product_class == "soap" and not law.soap_may_be_no_cosmetic:
        yield SheetProblem(
            "class", f"Soap for the body is a cosmetic in {law.place}.", law.list_rule,
            stops_print=True,
        )  # fmt: skip
    if sheet.product_class == "soap" and sheet.other_than_soap:
        said = "; ".join(f"“{claim}”" for claim in sheet.other_than_soap)
        yield SheetProblem(
            "class",
            f"True soap is sold as soap alone, and the label says {said}. Enter it as a cosmetic, "
            "or leave that out.",
            "21 CFR 701.20",
        )


def _party_problems(sheet: SheetFacts, law: Law) -> Iterator[SheetProblem]:
    if law.needs_responsible_person:
        if not sheet.responsible:
            yield SheetProblem(
                "responsible",
                f"No responsible person in {law.place} is named.",
                law.responsible_rule,
                stops_print=True,
            )
        elif sheet.responsible_country not in law.countries:
            yield SheetProblem(
                "responsible",
                f"The responsible person has no address in {law.place}.",
                law.responsible_rule,
                stops_print=True,
            )
    elif not sheet.maker:
        yield SheetProblem("maker", "The maker’s name and place are missing.", law.responsible_rule)
    if law.contact_rule and sheet.product_class == "cosmetic" and not sheet.contact:
        yield SheetProblem(
            "contact",
            "The label needs an address, a telephone or an electronic contact for reports of "
            "adverse events: Set-up → The workshop.",
            law.contact_rule,
        )
    if law.needs_responsible_person and not sheet.origin:
        yield SheetProblem("origin", "The country of origin is not entered.", law.responsible_rule)


def _word_problems(sheet: SheetFacts, law: Law) -> Iterator[SheetProblem]:
    if not sheet.languages:
        yield SheetProblem("languages", "No language of the label is chosen.", "")
    if law.needs_function and not sheet.function:
        yield SheetProblem(
            "function",
            "Neither its function nor what it is has been entered.",
            law.list_rule.replace("(g)", "(f)"),
        )
    for words in sheet.untranslated:
        yield SheetProblem(
            "words", f"The table of words has nothing for “{words}” in a language of the label.", ""
        )


def _proof_problems(sheet: SheetFacts, law: Law) -> Iterator[SheetProblem]:
    is_cosmetic = sheet.product_class == "cosmetic"
    if is_cosmetic and not (sheet.substantiated_by and sheet.substantiated_on):
        yield SheetProblem(
            "substantiation",
            f"The {law.substantiation} is not entered: who assessed it, and when.",
            law.substantiation_rule,
        )
