"""Triggers that keep the logs of complaints and recalls, and the reports of closed ones."""

from django.db import migrations

from workshop.core.triggers import append_only, create


class Migration(migrations.Migration):
    dependencies = [("trace", "0001_initial")]
    operations = [
        create(
            *append_only("trace_complaintevent"),
            *append_only("trace_recallentry"),
            *append_only("trace_recallline"),
        )
    ]
