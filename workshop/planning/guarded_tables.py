"""What the database refuses in planning, whoever asks."""

from workshop.core.database.triggers import append_only

GUARDS = [
    guard
    for table in (
        "planning_hours",
        "planning_terms",
        "planning_customerorder",
        "planning_customerorderline",
        "planning_purchaseorder",
        "planning_purchaseline",
        "planning_purchasestop",
        "planning_acceptedweek",
        "planning_plannedbatch",
        "planning_reservation",
        "planning_plannedrun",
    )
    for guard in append_only(table)
]
