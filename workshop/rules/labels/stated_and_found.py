"""What an approved label states, what is true of a lot, and how they may differ."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import Literal

from workshop.rules.allergens.thresholds import Use
from workshop.rules.ingredients.composition import Composition
from workshop.rules.ingredients.declaration import Declaration, Market
from workshop.rules.ingredients.organic_share import BY_RULE, Category, Limits

Way = Literal["order", "missing", "extra", "allergen", "organic", "date", "contents"]

# What a sticker headed "new ingredient list" mends, 21 CFR 701.3(n); the rest it does not.
IN_THE_LIST: frozenset[Way] = frozenset({"order", "missing", "extra", "allergen"})


@dataclass(frozen=True)
class Difference:
    """One way in which the label would be untrue of the lot, in a sentence."""

    way: Way
    sentence: str

    @property
    def is_in_the_list(self) -> bool:
        return self.way in IN_THE_LIST


@dataclass(frozen=True, kw_only=True)
class Approved:
    """What an approved label states; `called` is what the sentences call it.

    `names` stand in their printed order; `may_contain` are colours only some batches hold.
    `promised_g` is the larger of the weights stated. `fixed_date` stands on the artwork itself,
    `keeps_months` is a shelf life stated in months; `opened_months` with neither means that only
    the months after opening are given.
    """

    called: str = "approved label"

    market: Market
    names: tuple[str, ...]
    organic_names: frozenset[str] = frozenset()
    may_contain: frozenset[str] = frozenset()
    claim: Category | None = None
    organic_percent: int | None = None
    made_with: tuple[str, ...] = ()
    contents: str = ""
    promised_g: Fraction | None = None
    fixed_date: date | None = None
    keeps_months: int | None = None
    opened_months: int | None = None
    gives_only_opened_months: bool = False
    certifier_line: str = ""
    has_e_mark: bool = False


@dataclass(frozen=True, kw_only=True)
class LotFactsFound:
    """What is true of the lot: the list it would get today, and the figures behind it.

    Where `lot` is empty it is one that was not made: what a formula would give.
    `allergens` are those that must be named today, with their shares. `average_g` is what a unit
    of the run holds on average; `printed_until` the latest date on labels printed for the lot.
    `best_before` is the date that follows from everything that went into the lot, `dated` the one
    that the book gives it, which its labels print.
    `certifier_line` names the certifier of today; the e mark needs a fill check that supports it.
    """

    lot: str
    declaration: Declaration
    composition: Composition
    made_on: date
    best_before: date | None = None
    dated: date | None = None
    allergens: Mapping[str, Fraction] = field(default_factory=dict)
    use: Use = "leave-on"
    average_g: Fraction | None = None
    units: int = 0
    limits: Limits = BY_RULE
    printed_until: date | None = None
    certifier_line: str = ""
    supports_e_mark: bool = False

    @property
    def it(self) -> str:
        """What the sentences call it."""
        return f"lot {self.lot}" if self.lot else "what is tried"

    @property
    def capital(self) -> str:
        return self.it[0].upper() + self.it[1:]

    @property
    def hold(self) -> str:
        return f"the {self.units} units of this run hold" if self.lot else "a unit would hold"
