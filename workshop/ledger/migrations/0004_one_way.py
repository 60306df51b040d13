"""The walk through the family tree reads no operation's kind, and no large index of nothing."""

from django.db import migrations, models

from workshop.core.triggers import create
from workshop.ledger.guards import ONE_WAY


class Migration(migrations.Migration):
    dependencies = [("ledger", "0003_walk_indexes")]
    operations = [
        create(*ONE_WAY),
        migrations.AddIndex(
            model_name="posting",
            index=models.Index(
                fields=["corrects"],
                condition=models.Q(corrects__isnull=False),
                name="posting_undoing",
            ),
        ),
    ]
