"""The ledger app."""

from django.apps import AppConfig


class LedgerConfig(AppConfig):
    name = "workshop.ledger"
    default_auto_field = "django.db.models.BigAutoField"
