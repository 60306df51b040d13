"""Into which orders the needs of the weeks are put: whole packs, a minimum, and how far ahead."""

from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from workshop.ledger.models import Item
from workshop.materials.models import profile_of
from workshop.planning.models import Hours, Terms
from workshop.rules.planning.gross_to_net import Plan
from workshop.rules.planning.replenishment import most_before_expiry, order_amount

A_MONTH = 30


@dataclass(frozen=True)
class Lots:
    """One order: how much, and the day by which it must be there."""

    amount: Fraction
    needed_on: date

    @classmethod
    def sized(cls, need: Fraction, terms: Terms | None, needed_on: date) -> "Lots | None":
        """A need in whole packs and of at least the minimum; None for no need."""
        amount = order_amount(
            need,
            pack=terms.pack_size if terms else None,
            least=terms.order_least if terms else None,
        )
        return cls(amount, needed_on) if amount else None


def lots_of(plan: Plan, item: Item, terms: Terms | None, hours: Hours, today: date) -> list[Lots]:
    """The orders that meet every week's net need, each for some weeks ahead.

    How many weeks is the owner's figure; never more than is used up before it expires.
    """
    needs = [week.net for week in plan.weeks]
    most = _most(plan, item)
    found: list[Lots] = []
    left = Fraction()
    for number, need in enumerate(needs):
        if need <= left:
            left -= need
            continue
        wanted = sum(needs[number : number + hours.weeks_ahead], Fraction()) - left
        if most is not None:
            wanted = max(min(wanted, most), need - left)
        order = Lots.sized(wanted, terms, today + timedelta(weeks=number))
        if order:
            found.append(order)
            left += order.amount - need
    return found


def _most(plan: Plan, item: Item) -> Fraction | None:
    """What is used up within the shelf life of the material; None where that is no limit."""
    profile = profile_of(item)
    used = sum((week.gross for week in plan.weeks), Fraction())
    if profile is None or not profile.shelf_life_months or not used:
        return None
    days = profile.shelf_life_months * A_MONTH
    return most_before_expiry(days, A_MONTH, used / (7 * len(plan.weeks)))
