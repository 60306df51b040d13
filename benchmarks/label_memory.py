"""Prints numbered labels in a process of its own and tells the memory that took."""

import os
import sys

import django

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")
    django.setup()
    from benchmarks import labels

    labels.print_and_tell_memory(sys.argv[1])
