"""The planning app."""

from django.apps import AppConfig


class PlanningConfig(AppConfig):
    name = "workshop.planning"
    default_auto_field = "django.db.models.BigAutoField"
