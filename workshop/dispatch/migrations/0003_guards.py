"""Triggers that keep the word of an arrival."""

from django.db import migrations

from workshop.core.triggers import create
from workshop.dispatch.guards import GUARDS


class Migration(migrations.Migration):
    dependencies = [("dispatch", "0002_arrivals")]
    operations = [create(*GUARDS)]
