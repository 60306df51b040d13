"""The organic app."""

from django.apps import AppConfig


class OrganicConfig(AppConfig):
    name = "workshop.organic"
    default_auto_field = "django.db.models.BigAutoField"
