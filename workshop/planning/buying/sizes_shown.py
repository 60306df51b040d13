"""How much to order at a time, in the words and figures of the page."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

from workshop.costs import figures
from workshop.ledger.models import Unit
from workshop.planning.buying.needs import Need
from workshop.planning.buying.order_costs import order_costs


def sizes_shown(need: Need, currency: str) -> dict[str, Any] | None:
    """Order quantity, as the page shows it."""
    found = order_costs(need)
    if found is None:
        return None
    unit, grams = (1000, "kg") if need.item.unit == Unit.GRAM else (1, "piece")
    return {
        "economic": _whole(found.economic),
        "days": found.lasts_days,
        "yearly": figures.amount(found.yearly, currency),
        "weeks": found.weeks,
        "per_year": _whole(found.per_year),
        "unit_cost": f"{figures.amount(found.unit_cost * unit, currency)} a {grams}",
        "ways": [
            {
                "name": way.name,
                "orders": way.orders,
                "first": _whole(way.first),
                "cost": figures.amount(way.cost, currency),
            }
            for way in found.ways
        ],
    }


def _whole(amount: Fraction) -> Decimal:
    return Decimal(round(amount))
