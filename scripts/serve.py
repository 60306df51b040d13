"""Brings the book up to date, fills the demo the first time, says how to sign in, and serves."""

import os
import shlex
import socket
import sys
from pathlib import Path
from typing import NoReturn

import django
from django.apps import apps
from django.contrib.auth import get_user_model
from django.core.exceptions import ImproperlyConfigured
from django.core.management import call_command
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from gunicorn.app.wsgiapp import WSGIApplication

PROJECT = Path(__file__).resolve().parent.parent
PORT = os.environ.get("PORT", "8000")
DATA = Path(os.environ.get("TAREBOOK_DATA", PROJECT / "data"))

sys.path.insert(0, str(PROJECT))

from workshop.core.database.tables_of_version import later_changes  # noqa: E402  the project is no package
from workshop.core.web.error_pages import DAMAGED, sentence_for  # noqa: E402  likewise


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")
    os.environ.setdefault("TAREBOOK_STATIC_ROOT", str(DATA / "static"))
    os.chdir(PROJECT)
    refuse_a_taken_port()
    try:
        django.setup()
        refuse_a_damaged_file()
        bring_tables_up_to_date()
    except (ImproperlyConfigured, DatabaseError) as error:
        stop_with_a_sentence(error)
    collect_static_files()
    address = f"http://127.0.0.1:{PORT}"
    if get_user_model().objects.exists():
        print(f"Tarebook is at {address}. Sign in with the name and password you were given.")
        print(f"New password for one person:   {manage()} changepassword NAME")
        if apps.is_installed("workshop.demo"):
            print(f"For all of the demonstration:  {manage()} demo --new-passwords")
    elif apps.is_installed("workshop.demo"):
        print("The book is empty: filling it with the demonstration workshop.", flush=True)
        call_command("demo")
        print(f"Tarebook is at {address}. The names and passwords above are shown this once.")
    else:
        print(f"Tarebook is at {address}. Make the first owner in another terminal:")
        print(f"  {manage()} make_owner NAME")
    print("Stop it with Ctrl-C.", flush=True)
    serve()


def manage() -> str:
    """The beginning of a command about this very book, as it is typed in another terminal."""
    folder = os.environ.get("TAREBOOK_DATA")
    named = f"TAREBOOK_DATA={shlex.quote(folder)} " if folder else ""
    return f"{named}.venv/bin/python manage.py"


def refuse_a_taken_port() -> None:
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind(("127.0.0.1", int(PORT)))
        except (OSError, ValueError, OverflowError):
            sys.exit(f"Port {PORT} cannot be used. Choose another: PORT=8001 make run")


def stop_with_a_sentence(error: Exception) -> NoReturn:
    said = sentence_for(error)
    if isinstance(error, ImproperlyConfigured):
        sys.exit(str(error))
    if not said:
        raise error
    sys.exit(f"{said}\nIt is {connection.settings_dict['NAME']}; README.md says how to restore.")


def refuse_a_damaged_file() -> None:
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA quick_check(1)")
            if cursor.fetchone() != ("ok",):
                sys.exit(f"{DAMAGED}\nIt is {connection.settings_dict['NAME']}.")


def bring_tables_up_to_date() -> None:
    """Migrate, but only when something is to be done: the command itself takes a second to see."""
    if later := later_changes(connection):
        sys.exit(later)
    executor = MigrationExecutor(connection)
    if executor.migration_plan(executor.loader.graph.leaf_nodes()):
        call_command("migrate", verbosity=0)


def collect_static_files() -> None:
    """Put them under names that hold a digest, so that no browser shows an old one; if changed."""
    collected = DATA / "static" / "staticfiles.json"
    sources = [*(PROJECT / "static").rglob("*"), PROJECT / "requirements.txt"]
    newest = max(path.stat().st_mtime for path in sources)
    if not collected.exists() or collected.stat().st_mtime < newest:
        call_command("collectstatic", interactive=False, clear=True, verbosity=0)


def serve() -> None:
    """Become gunicorn: two worker processes, as threads would share one core."""
    connection.close()  # a worker must not inherit an open database
    options = f"--bind 127.0.0.1:{PORT} --workers 2 --timeout 120 --preload --no-control-socket"
    sys.argv = ["tarebook", "workshop.wsgi", "--log-level", "warning", *options.split()]
    WSGIApplication(prog="tarebook").run()


if __name__ == "__main__":
    main()
