"""The audit app."""

from django.apps import AppConfig


class AuditConfig(AppConfig):
    name = "workshop.audit"
    default_auto_field = "django.db.models.BigAutoField"
