"""The core app."""

from django.apps import AppConfig

from workshop.core.database.triggers import keep_through_migrations


class CoreConfig(AppConfig):
    name = "workshop.core"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        keep_through_migrations(self)
