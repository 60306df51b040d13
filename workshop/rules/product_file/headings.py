"""What the file behind a product must hold: one row a requirement.

Source: Regulation (EC) 1223/2009, article 11(2), of which the first item and the number of five are
second-hand and the rest from memory; Annex I, by four independent outlines that agree. The
retained regulation of Great Britain asks the same. The safety assessor has the last word.
"""

from dataclasses import dataclass
from typing import Literal

Part = Literal["file", "A", "B", "more"]


@dataclass(frozen=True)
class Heading:
    """One heading: `key` names it for ever, `asks` says what belongs there."""

    key: str
    part: Part
    number: int
    title: str
    asks: str

    @property
    def rule(self) -> str:
        if self.part == "file":
            return f"article 11(2)({'abcde'[self.number - 1]})"
        return f"Annex I, part {self.part}, {self.number}" if self.part in ("A", "B") else ""


ARTICLE_11: tuple[Heading, ...] = (
    Heading("description", "file", 1, "Description of the product",
            "What it is, so that the file is clearly tied to it."),
    Heading("safety_report", "file", 2, "Cosmetic product safety report",
            "Parts A and B below, every heading filled."),
    Heading("manufacture", "file", 3, "Method of manufacture and statement of good practice",
            "The method follows from the formula; the statement names the practice followed, "
            "such as ISO 22716, and where it is kept."),
    Heading("effects", "file", 4, "Proof of the effects claimed",
            "Where the nature of the product or of its effect calls for it."),
    Heading("animal_testing", "file", 5, "Data on animal testing",
            "By the maker, its agents and its suppliers, also for other countries; or that there "
            "was none."),
)  # fmt: skip
ANNEX_I: tuple[Heading, ...] = (
    Heading("composition", "A", 1, "Quantitative and qualitative composition",
            "Every substance with its share, its function and its numbers; of a scent its code "
            "and supplier."),
    Heading("stability", "A", 2, "Physical and chemical characteristics and stability",
            "Of the substances and of the product; that the tested composition is the marketed "
            "one; the period after opening with its reason."),
    Heading("microbiology", "A", 3, "Microbiological quality",
            "Of the substances and of the product; the preservation challenge test, or why a "
            "product without water needs none."),
    Heading("impurities", "A", 4, "Impurities, traces, packaging material",
            "Purity of the substances, traces that cannot be avoided, what the packaging is made "
            "of."),
    Heading("use", "A", 5, "Normal and reasonably foreseeable use",
            "In the light of the warnings on the label."),
    Heading("exposure", "A", 6, "Exposure to the product",
            "Where, how much, how often, how long, for whom."),
    Heading("substances", "A", 7, "Exposure to the substances",
            "From the exposure to the product and the composition."),
    Heading("toxicology", "A", 8, "Toxicological profile of the substances",
            "All ends that matter, particle sizes, impurities, interactions; sources given."),
    Heading("undesirable", "A", 9, "Undesirable effects and serious undesirable effects",
            "All that is known, of this and where it matters of other products, with figures."),
    Heading("information", "A", 10, "Information on the product",
            "Other information, such as studies on people."),
    Heading("conclusion", "B", 1, "Assessment conclusion",
            "That the product is safe under article 3."),
    Heading("warnings", "B", 2, "Labelled warnings and instructions of use",
            "Whether any are needed, and which."),
    Heading("reasoning", "B", 3, "Reasoning",
            "How the conclusion follows from part A; children under three where it is for them."),
    Heading("assessor", "B", 4, "Assessor’s credentials and approval",
            "Name and address, proof of qualification, date and signature."),
)  # fmt: skip
MORE: tuple[Heading, ...] = (
    Heading("raw_materials", "more", 1, "Specifications and certificates of raw materials",
            "Of each material in the formula, from its supplier."),
    Heading("after_opening", "more", 2, "Period after opening, with its reason",
            "Why it keeps so long once opened, or why the notion does not apply."),
    Heading("picture", "more", 3, "Picture of the packaging",
            "As sold; a notification for Great Britain asks for one."),
)  # fmt: skip
HEADINGS: tuple[Heading, ...] = (*ARTICLE_11, *ANNEX_I, *MORE)
BY_KEY: dict[str, Heading] = {heading.key: heading for heading in HEADINGS}
# Complete when all the headings of Annex I are.
SAFETY_REPORT = "safety_report"


def missing_headings(filled: frozenset[str]) -> tuple[Heading, ...]:
    """Return the headings that nothing stands under, the safety report once as a whole.

    Units, error: none. Source: as the tables. Raises: nothing.

    >>> len(missing_headings(frozenset()))
    21
    >>> every = frozenset(BY_KEY) - {"safety_report", "substances"}
    >>> [one.key for one in missing_headings(every)]
    ['substances']
    """
    return tuple(one for one in HEADINGS if one.key != SAFETY_REPORT and one.key not in filled)


def is_complete_report(filled: frozenset[str]) -> bool:
    """Say whether every one of the fourteen headings of Annex I is filled.

    >>> is_complete_report(frozenset(one.key for one in ANNEX_I)), is_complete_report(frozenset())
    (True, False)
    """
    return all(one.key in filled for one in ANNEX_I)
