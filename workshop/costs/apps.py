"""The costs app."""

from django.apps import AppConfig


class CostsConfig(AppConfig):
    name = "workshop.costs"
    default_auto_field = "django.db.models.BigAutoField"
