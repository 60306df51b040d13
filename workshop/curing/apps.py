"""The curing app."""

from django.apps import AppConfig


class CuringConfig(AppConfig):
    name = "workshop.curing"
    default_auto_field = "django.db.models.BigAutoField"
