"""What holds now: hours of the week, and how each item is stocked and bought."""

from collections.abc import Collection

from workshop.planning.models import Hours, Terms


def hours_now() -> Hours:
    """The hours entered last; before that, a week as most workshops have it."""
    return Hours.objects.order_by("pk").last() or Hours()


def terms_by_item(items: Collection[int] | None = None) -> dict[int, Terms]:
    """The terms that hold of each item; one query. Items without any are left out."""
    rows = Terms.objects.latest_of_each().select_related("supplier")
    if items is not None:
        rows = rows.filter(item__in=items)
    return {row.item_id: row for row in rows}
