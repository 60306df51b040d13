"""The form of a market's law: one record of what it asks. Which markets there are: `laws.py`."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal

from workshop.rules.errors import RuleError

Dictionary = Literal["glossary", "dictionary"]


@dataclass(frozen=True, kw_only=True)
class Law:
    """The rules of one market that labels, papers and pages ask for.

    `dictionary` says whose names the list uses: the glossary has no word of a living language in
    brackets, the dictionary has. `words` are those names that a list gives by one word.
    `one_percent_is_free` tells whether exactly 1 % may stand in any order. `longer_list_from` is
    the day from which the longer list of fragrance allergens is asked for, None where it is not.
    `rules` gives by subject the rule that a page names.
    """

    code: str
    name: str
    dictionary: Dictionary
    list_rule: str
    words: Mapping[str, str]
    may_contain: str
    one_percent_is_free: bool
    order_rule: str
    letters_rule: str
    names_allergens: bool
    longer_list_from: date | None = None
    allergen_rule: str = ""
    ounces_first: bool
    has_e_mark: bool
    net_rule: str
    date_phrase: str
    needs_a_date: bool
    has_open_jar: bool
    has_hourglass: bool
    date_rule: str
    needs_responsible_person: bool
    responsible_rule: str
    needs_function: bool
    needs_origin_of_imports: bool
    countries: tuple[str, ...]
    languages: tuple[str, ...]
    substantiation: str
    substantiation_rule: str
    claims_rule: str
    has_common_criteria: bool
    paper: Literal["letter", "a4"]
    fill_system: Literal["sample", "average"]
    report_rule: str
    recall_terms: str
    contact_rule: str
    has_product_file: bool
    notification: str
    notification_rule: str
    detergent_rule: str
    soap_may_be_no_cosmetic: bool

    @property
    def place(self) -> str:
        """Its name within a sentence: a union or states take an article, an island does not."""
        return f"the {self.name}" if self.name.endswith(("Union", "States")) else self.name


def refuse_unknown(code: str, known: Mapping[str, Law]) -> RuleError:
    """The sentence for a market that is not in the table."""
    return RuleError(f'"{code}" is not a market known here; use {", ".join(known)}.')
