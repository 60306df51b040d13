"""How long a batch of each bulk and a packing run of each product takes, and who says so."""

from typing import Any

from workshop.ledger.models import Item, ItemKind
from workshop.planning.current_terms import terms_by_item
from workshop.planning.models import Hours
from workshop.planning.week.makings import past_batch_minutes, past_run_minutes


def times_of(hours: Hours) -> list[dict[str, Any]]:
    """What a batch of each bulk and a run of each product takes, and who says so."""
    made = Item.objects.active().of_kind(ItemKind.BULK, ItemKind.PRODUCT).order_by("kind", "name")
    items, terms = list(made), terms_by_item()
    past = past_batch_minutes() | past_run_minutes()
    usual = {ItemKind.BULK: f"{hours.batch_minutes} min, as for any batch"}
    rows = []
    for one in items:
        said = terms[one.pk].usual_minutes if one.pk in terms else None
        rows.append(
            {
                "item": one,
                "past": past.get(one.pk),
                "said": said,
                "usual": usual.get(ItemKind(one.kind), f"{hours.units_an_hour} units an hour"),
            }
        )
    return rows
