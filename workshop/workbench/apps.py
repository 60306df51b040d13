"""The workbench app."""

from django.apps import AppConfig


class WorkbenchConfig(AppConfig):
    name = "workshop.workbench"
    default_auto_field = "django.db.models.BigAutoField"
