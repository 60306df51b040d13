"""Makes the first owner of an empty book, with a password shown once."""

import secrets
from argparse import ArgumentParser

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError

from workshop.core.models import Role, User


class Command(BaseCommand):
    help = "Make an owner, who can then add everybody else; prints the password once."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("name", help="the name to sign in with")

    def handle(self, *, name: str, **_: object) -> None:
        password = secrets.token_urlsafe(12)
        owner = User(username=name, role=Role.OWNER)
        owner.set_password(password)
        try:
            owner.full_clean()
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from error
        owner.save()
        self.stdout.write(f"Owner {name} may sign in with the password {password}")
        self.stdout.write("It is not shown again; change it after the first sign-in.")
