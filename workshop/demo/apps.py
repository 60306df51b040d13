"""The demo app."""

from django.apps import AppConfig


class DemoConfig(AppConfig):
    name = "workshop.demo"
    default_auto_field = "django.db.models.BigAutoField"
