"""The materials app."""

from django.apps import AppConfig


class MaterialsConfig(AppConfig):
    name = "workshop.materials"
    default_auto_field = "django.db.models.BigAutoField"
