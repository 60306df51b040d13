"""The core app."""

from django.apps import AppConfig


class CoreConfig(AppConfig):
    name = "workshop.core"
    default_auto_field = "django.db.models.BigAutoField"
