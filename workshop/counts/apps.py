"""The counts app."""

from django.apps import AppConfig


class CountsConfig(AppConfig):
    name = "workshop.counts"
    default_auto_field = "django.db.models.BigAutoField"
