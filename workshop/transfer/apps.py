"""The transfer app."""

from django.apps import AppConfig


class TransferConfig(AppConfig):
    name = "workshop.transfer"
    default_auto_field = "django.db.models.BigAutoField"
