"""Makes a pack in a process of its own and tells what that took."""

import os

import django

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")
    django.setup()
    from benchmarks import pack

    print(pack.of_a_year())
