"""Which rule words on a label touch, and in which markets they stop it."""

from dataclasses import dataclass
from typing import Literal

Kind = Literal["disease", "structure", "pesticide", "misleading", "eu_claim"]

RULES: dict[Kind, str] = {
    "disease": "21 U.S.C. 321(g)(1)(B); in the EU and in Great Britain a medicine by presentation",
    "structure": "21 U.S.C. 321(g)(1)(C); in the EU and in Great Britain a medicine by function",
    "pesticide": "7 U.S.C. 136(u); in the EU and in Great Britain a biocide",
    "misleading": "21 U.S.C. 362(a); Regulation (EU) 655/2013, truthfulness",
    "eu_claim": "Regulation (EU) 655/2013, common criteria",
}
# All others stop a label in every market.
ONLY_BY_COMMON_CRITERIA: frozenset[Kind] = frozenset({"eu_claim"})
# What only looks or feels so is a cosmetic's to promise; a disease is nobody's.
PARDONED_BY_LOOKS: frozenset[Kind] = frozenset({"structure"})


@dataclass(frozen=True)
class Words:
    """Beginnings of words of one kind, in one language, with what may be said instead.

    Each stem is a regular expression at the beginning of a word, and any ending follows; in a
    stem of several words a space stands for spaces and hyphens. `unless` are uses that pass.
    """

    kind: Kind
    stems: str
    instead: str = ""
    unless: str = ""
