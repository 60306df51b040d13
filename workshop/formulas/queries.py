"""What one reads off formulas: whether a bulk contains itself, and what to think about."""

from collections import defaultdict

from django.db.models import Q

from workshop.formulas.models import Line, Version, VersionStatus
from workshop.ledger.models import Item, ItemKind


def containing_itself(version: Version) -> list[str]:
    """The names along the way by which the version's bulk comes back into itself, or nothing.

    It looks through the approved formulas of every bulk, substitutes included.
    """
    parts = _parts_of_bulks()
    made = version.formula.item_id
    mine = {
        pk
        for line in version.lines.prefetch_related("substitutes")
        for pk in [line.item_id, *(item.pk for item in line.substitutes.all())]
    }
    way = _way_to(made, {**parts, made: mine})
    names = dict(Item.objects.filter(pk__in=way).values_list("pk", "name"))
    return [names[pk] for pk in way]


def _parts_of_bulks() -> dict[int, set[int]]:
    """For each bulk, the bulks that its approved formulas take in or allow instead."""
    parts: defaultdict[int, set[int]] = defaultdict(set)
    lines = Line.objects.filter(version__status=VersionStatus.APPROVED).filter(
        Q(item__kind=ItemKind.BULK) | Q(substitutes__kind=ItemKind.BULK)
    )
    for made, item, substitute in lines.values_list(
        "version__formula__item", "item", "substitutes"
    ):
        parts[made].add(item)
        if substitute:  # the outer join gives none where a line allows none
            parts[made].add(substitute)
    return dict(parts)


def _way_to(made: int, parts: dict[int, set[int]]) -> list[int]:
    """The shortest way from `made` through its parts back to `made`."""
    came_from: dict[int, int] = {}
    reached = [made]
    for item in reached:
        for part in sorted(parts.get(item, ())):
            if part == made:
                return [*_back(item, came_from), made]
            if part not in came_from:
                came_from[part] = item
                reached.append(part)
    return []


def _back(item: int, came_from: dict[int, int]) -> list[int]:
    way = [item]
    while item in came_from:
        item = came_from[item]
        way.append(item)
    return way[::-1]
