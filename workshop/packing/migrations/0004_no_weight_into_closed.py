"""No weight is added to a closed run: its seal covers them."""

from django.db import migrations

from workshop.core.triggers import create
from workshop.packing.guards import CLOSED


class Migration(migrations.Migration):
    dependencies = [("packing", "0003_guards"), ("ledger", "0002_guards")]
    operations = [create(*CLOSED)]
