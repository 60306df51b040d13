"""Triggers that keep what was weighed, lost and kept back."""

from django.db import migrations

from workshop.core.triggers import create
from workshop.packing.guards import GUARDS


class Migration(migrations.Migration):
    dependencies = [("packing", "0002_fill_control")]
    operations = [create(*GUARDS)]
