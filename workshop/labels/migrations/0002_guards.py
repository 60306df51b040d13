"""Triggers that keep what was recorded."""

from django.db import migrations

from workshop.core.triggers import create
from workshop.labels.guards import GUARDS


class Migration(migrations.Migration):
    dependencies = [("labels", "0001_initial")]
    operations = [create(*GUARDS)]
