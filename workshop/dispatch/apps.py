"""The dispatch app."""

from django.apps import AppConfig


class DispatchConfig(AppConfig):
    name = "workshop.dispatch"
    default_auto_field = "django.db.models.BigAutoField"
