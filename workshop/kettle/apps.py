"""The kettle app."""

from django.apps import AppConfig


class KettleConfig(AppConfig):
    name = "workshop.kettle"
    default_auto_field = "django.db.models.BigAutoField"
