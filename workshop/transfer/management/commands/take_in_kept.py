"""`manage.py take_in_kept`: what the page “Import spreadsheets” starts; nothing to say by hand."""

from typing import Any

from django.core.management.base import BaseCommand

from workshop.transfer.services.apart import work


class Command(BaseCommand):
    help = "Takes in the file that the page “Import spreadsheets” has kept for it."

    def handle(self, **options: Any) -> None:
        work()
