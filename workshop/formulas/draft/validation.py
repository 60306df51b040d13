"""Lines and steps as they are handed in, and what they must be, as sentences for the person."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from operator import itemgetter

from workshop.core.errors import ActionRefused
from workshop.ledger.models import Item, ItemKind, Unit

WHOLE = Decimal(100)
WIDEST_TOLERANCE = Decimal(50)
MOST_HELD_BACK = Decimal(1000)


@dataclass(frozen=True, kw_only=True)
class LineIn:
    """One ingredient as it is handed in; without an order it stays behind the one before it."""

    item: Item
    share: Decimal
    phase: str = "A"
    order: int | None = None
    tolerance: Decimal = Decimal(2)
    is_irreversible: bool = False
    is_strained_out: bool = False
    stays: str = ""
    held_back: Decimal = Decimal(0)
    substitutes: Sequence[Item] = ()


@dataclass(frozen=True, kw_only=True)
class StepIn:
    """One step of the making as it is handed in; they are numbered as they stand."""

    text: str
    phase: str = ""
    from_c: Decimal | None = None
    to_c: Decimal | None = None
    minutes: int | None = None
    keep_water_out: bool = False
    caution: str = ""


def in_order(lines: Sequence[LineIn]) -> list[LineIn]:
    """The lines by their order of addition; those of one order stay as they were handed in."""
    place = 0
    placed = []
    for line in lines:
        place = line.order or place
        placed.append((place, line))
    return [line for _, line in sorted(placed, key=itemgetter(0))]


def shares_sentence(shares: Iterable[Decimal]) -> str | None:
    """What is wrong with the sum of the shares, or None when it is exactly 100 %.

    >>> shares_sentence([Decimal("60"), Decimal("39.9")])
    'The shares add up to 99.9000 %; 0.1000 % is missing.'
    >>> shares_sentence([Decimal("60"), Decimal("40.0001")])
    'The shares add up to 100.0001 %; that is 0.0001 % too much.'
    >>> shares_sentence([Decimal("60"), Decimal("40")])
    """
    total = sum(shares, Decimal(0))
    if total == WHOLE:
        return None
    if total < WHOLE:
        return f"The shares add up to {total:.4f} %; {WHOLE - total:.4f} % is missing."
    return f"The shares add up to {total:.4f} %; that is {total - WHOLE:.4f} % too much."


def refuse_unless_whole(shares: Sequence[Decimal]) -> None:
    if not shares:
        raise ActionRefused("A formula needs at least one ingredient before it can be approved.")
    sentence = shares_sentence(shares)
    if sentence:
        raise ActionRefused(sentence)


def validate_lines(made: Item, lines: Sequence[LineIn]) -> None:
    """Refuse what cannot be a line of a formula that makes `made`."""
    seen: set[int] = set()
    for line in lines:
        if line.item.pk in seen:
            raise ActionRefused(f"{line.item} stands in the formula twice; put it in one line.")
        seen.add(line.item.pk)
        _validate_figures(line)
        _validate_order(line)
        _validate_straining(line)
        for item in (line.item, *line.substitutes):
            _validate_ingredient(made, item)
        if line.item in line.substitutes:
            raise ActionRefused(f"{line.item} cannot be a substitute for itself.")


def _validate_figures(line: LineIn) -> None:
    for figure in (line.share, line.tolerance):
        if not figure.is_finite() or figure != round(figure, 4):
            raise ActionRefused(f"{line.item}: give at most four decimal places.")
    if not 0 < line.share <= WHOLE:
        raise ActionRefused(f"The share of {line.item} must be above 0 and at most 100 %.")
    if not 0 < line.tolerance <= WIDEST_TOLERANCE:
        raise ActionRefused(f"The tolerance of {line.item} must be above 0 and at most 50 %.")


def _validate_straining(line: LineIn) -> None:
    if line.is_strained_out and not line.stays.strip():
        raise ActionRefused(
            f"{line.item} is strained out again: say what stays of it, such as Calendula "
            "Officinalis Flower Extract."
        )
    if not line.is_strained_out and (line.stays.strip() or line.held_back):
        raise ActionRefused(
            f"{line.item}: what stays, and what the marc holds, is said only of what is strained "
            "out again."
        )
    if not 0 <= line.held_back <= MOST_HELD_BACK:
        raise ActionRefused(f"{line.item}: a marc holds from 0 to 1000 % of its own weight.")


def _validate_order(line: LineIn) -> None:
    if line.order is not None and not 0 < line.order <= 9999:
        raise ActionRefused(f"The order of {line.item} must be between 1 and 9999.")
    if not line.phase.strip() or len(line.phase) > 20:
        raise ActionRefused(f"{line.item} needs a phase of at most 20 letters, such as A.")


def _validate_ingredient(made: Item, item: Item) -> None:
    if item == made:
        raise ActionRefused(f"{item} cannot be an ingredient of itself.")
    if item.kind not in (ItemKind.MATERIAL, ItemKind.BULK):
        raise ActionRefused(f"{item} is {item.get_kind_display()}; it cannot go into a kettle.")
    if item.unit != Unit.GRAM:
        raise ActionRefused(f"{item} is counted in pieces; an ingredient is weighed in grams.")


def validate_steps(steps: Sequence[StepIn]) -> None:
    for number, step in enumerate(steps, start=1):
        if not step.text.strip():
            raise ActionRefused(f"Step {number} does not say what to do.")
        if step.from_c is not None and step.to_c is not None and step.to_c < step.from_c:
            raise ActionRefused(f"Step {number}: the upper temperature is below the lower one.")
