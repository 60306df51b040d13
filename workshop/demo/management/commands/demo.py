"""Fill an empty book with an invented workshop and its last eighteen months.

What happens on which day stands in `demo/story/day_by_day.py`.
"""

from argparse import ArgumentParser
from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import connection, transaction
from django.utils import timezone

from workshop.core.models import User
from workshop.core.progress import progress
from workshop.demo.story.day_by_day import MONTHS, days_of, live_through, new_book
from workshop.demo.story.story_state import Book
from workshop.demo.tables.people import give_passwords, is_demo
from workshop.ledger.models import Operation

SEED = 1
DAYS_A_LOOK = 20


def look_at_the_tables() -> None:
    """Let PostgreSQL see how large they have grown: by itself it waits for the end of it all."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")


class Command(BaseCommand):
    help = "Fill an empty book with an invented workshop, and print how to sign in."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--until",
            type=date.fromisoformat,
            metavar="YYYY-MM-DD",
            help="the last day of the history; today, unless given",
        )
        parser.add_argument(
            "--months",
            type=int,
            choices=range(1, MONTHS + 1),
            default=MONTHS,
            metavar="N",
            help=f"how many months it covers, 1 to {MONTHS} (the default)",
        )
        parser.add_argument(
            "--seed",
            type=int,
            default=SEED,
            help="the same seed and the same last day tell the same story",
        )
        parser.add_argument(
            "--new-passwords",
            action="store_true",
            help="only give the people of a demo that is there already new passwords",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if options["new_passwords"]:
            self.renew_passwords()
        else:
            until = options["until"] or timezone.localdate()
            self.fill(new_book(seed=options["seed"], until=until, months=options["months"]))

    def renew_passwords(self) -> None:
        if not is_demo():
            raise CommandError(
                "This book was not filled by the demo; its users keep their passwords."
            )
        self.tell_passwords()

    def fill(self, book: Book) -> None:
        if User.objects.exists() or Operation.objects.exists():
            raise CommandError(
                "This book is in use already. The demo fills an empty book only: "
                "point DATABASE_URL or TAREBOOK_DATA at a new place."
            )
        with transaction.atomic():
            for number, _ in enumerate(progress(live_through(book), len(days_of(book)))):
                if number % DAYS_A_LOOK == 0:
                    look_at_the_tables()
        self.tell_notes(book)
        self.tell_passwords()

    def tell_notes(self, book: Book) -> None:
        self.stdout.write("Things that went wrong, as they do, to look for:")
        for what, sentence in book.notes.items():
            self.stdout.write(f"  {what}: {sentence}")

    def tell_passwords(self) -> None:
        self.stdout.write("These people may sign in; the passwords are shown this once:")
        for user, password in give_passwords():
            self.stdout.write(f"  {user.username:<10}{password}  {user.get_full_name()}")
