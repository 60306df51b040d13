"""The trace app."""

from django.apps import AppConfig


class TraceConfig(AppConfig):
    name = "workshop.trace"
    default_auto_field = "django.db.models.BigAutoField"
