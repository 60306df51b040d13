"""The core app."""

from django.apps import AppConfig

from workshop.core.database.tables_of_version import keep_from_later_books
from workshop.core.database.triggers import keep_through_migrations


class CoreConfig(AppConfig):
    name = "workshop.core"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        keep_from_later_books(self)
        keep_through_migrations(self)
