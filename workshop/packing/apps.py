"""The packing app."""

from django.apps import AppConfig


class PackingConfig(AppConfig):
    name = "workshop.packing"
    default_auto_field = "django.db.models.BigAutoField"
