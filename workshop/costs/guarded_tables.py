"""What the database refuses in costs, whoever asks."""

from workshop.core.database.triggers import append_only

GUARDS = [
    *append_only("costs_rates"),
    *append_only("costs_invoice"),
    *append_only("costs_invoiceline"),
    *append_only("costs_worktime"),
    *append_only("costs_salesprice"),
]
