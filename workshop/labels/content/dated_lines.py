"""The words on a label that differ from lot to lot: its code, its date, the open jar."""

from collections.abc import Iterable
from datetime import date

from workshop.labels.models import DateStyle
from workshop.ledger.models import Lot
from workshop.rules.dates.best_before import period_after_opening_text
from workshop.rules.labels.truth_check import durability_needs_jar
from workshop.rules.markets.laws import law_of
from workshop.rules.markets.phrases import Phrases, day_in, filled

Languages = tuple[str, ...]
# Stands in a label's text for the drawing that is printed; no typeface need have it.
HOURGLASS = "\u29d7"


def style_for(lot: Lot | None, market: str, opened_months: int | None) -> DateStyle:
    """Above 30 months the open jar stands in place of the date, where the law has it."""
    if lot is None or not law_of(market).has_open_jar or not opened_months:
        return DateStyle.LOT
    needs_jar = durability_needs_jar(lot.made_on, lot.best_before)
    return DateStyle.JAR if needs_jar else DateStyle.LOT


def lot_line(lot: Lot, languages: Languages, own: Phrases) -> str:
    return _joined(filled("Lot {}", (str(lot),), each, own) for each in languages)


def date_line(
    lot: Lot,
    market: str,
    style: str,
    keeps_months: int | None,
    languages: Languages = ("en",),
    own: Phrases | None = None,
    *,
    has_hourglass: bool = False,
) -> str:
    """The lot's own date, unless the jar replaces it or the artwork carries one.

    `has_hourglass` puts the symbol in place of the words, where the law offers it.
    """
    parts = []
    if keeps_months:
        parts.append(
            _joined(
                filled(
                    "Keeps {} months from {}", (str(keeps_months), day_in(lot.made_on, one)), one,
                    own,
                )
                for one in languages
            )
        )  # fmt: skip
    if lot.best_before and style == DateStyle.LOT:
        parts.append(_dated(lot.best_before, market, languages, own, has_hourglass=has_hourglass))
    return "; ".join(parts)


def _dated(
    best_before: date,
    market: str,
    languages: Languages,
    own: Phrases | None,
    *,
    has_hourglass: bool,
) -> str:
    """The date after the law's words, or after the symbol of Annex VII, point 3, in their place."""
    days = {one: day_in(best_before, one) for one in languages}
    if has_hourglass and law_of(market).has_hourglass:
        return f"{HOURGLASS} {_joined(days.values())}"
    words = f"{law_of(market).date_phrase} {{}}"
    return _joined(filled(words, (days[one],), one, own) for one in languages)


def opened_line(
    market: str,
    opened_months: int | None,
    languages: Languages = ("en",),
    own: Phrases | None = None,
) -> str:
    """The months after opening, in the open jar where the law has it."""
    if not opened_months:
        return ""
    if law_of(market).has_open_jar:
        return period_after_opening_text(opened_months)
    words = "Use within {} months of opening"
    return _joined(filled(words, (str(opened_months),), one, own) for one in languages)


def _joined(parts: Iterable[str]) -> str:
    return " / ".join(dict.fromkeys(parts))
