"""A code for an item that came without one."""

from workshop.ledger.models import Item
from workshop.rules.transfer.item_codes import code_for


def free_code(name: str) -> str:
    """A code made from the name that no item has yet."""
    return code_for(name, set(Item.objects.values_list("code", flat=True)))
