"""The labels app."""

from django.apps import AppConfig


class LabelsConfig(AppConfig):
    name = "workshop.labels"
    default_auto_field = "django.db.models.BigAutoField"
