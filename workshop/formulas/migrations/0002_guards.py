"""Triggers that keep an approved version as it was approved."""

from django.db import migrations

from workshop.core.triggers import create
from workshop.formulas.guards import GUARDS


class Migration(migrations.Migration):
    dependencies = [("formulas", "0001_initial")]
    operations = [create(*GUARDS)]
