"""The dossier app."""

from django.apps import AppConfig


class DossierConfig(AppConfig):
    name = "workshop.dossier"
    default_auto_field = "django.db.models.BigAutoField"
