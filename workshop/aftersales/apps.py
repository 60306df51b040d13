"""The aftersales app."""

from django.apps import AppConfig


class AftersalesConfig(AppConfig):
    name = "workshop.aftersales"
    default_auto_field = "django.db.models.BigAutoField"
