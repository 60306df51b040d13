"""What packing runs lost is said as everything that leaves an operation is."""

from typing import Any

from django.conf import settings
from django.db import migrations

from workshop.packing.carried_losses import carry_over


def carry(apps: Any, _editor: Any) -> None:
    rows = apps.get_model("packing", "Loss").objects.order_by("pk").values_list("posting", "kind")
    postings, sheds = (apps.get_model("ledger", name).objects for name in ("Posting", "Shed"))
    carry_over(list(rows), postings, sheds)


class Migration(migrations.Migration):
    dependencies = [
        ("packing", "0001_initial"),
        ("ledger", "0005_stock_before_the_book"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RunPython(carry, migrations.RunPython.noop),
        migrations.DeleteModel(name="Loss"),
    ]
