"""Triggers that keep what was recorded."""

from django.db import migrations

from workshop.core.triggers import append_only, create


class Migration(migrations.Migration):
    dependencies = [("labels", "0001_initial")]
    operations = [create(*append_only("labels_print"))]
