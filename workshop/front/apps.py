"""The front app."""

from django.apps import AppConfig


class FrontConfig(AppConfig):
    name = "workshop.front"
    default_auto_field = "django.db.models.BigAutoField"
