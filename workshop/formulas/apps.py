"""The formulas app."""

from django.apps import AppConfig


class FormulasConfig(AppConfig):
    name = "workshop.formulas"
    default_auto_field = "django.db.models.BigAutoField"
