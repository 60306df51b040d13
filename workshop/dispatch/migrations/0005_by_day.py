"""The list of dispatches is read by day, the last first, without sorting them all."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("dispatch", "0004_words_taken_back"),
        ("ledger", "0004_one_way"),
    ]

    operations = [
        migrations.AddIndex(
            model_name="dispatch",
            index=models.Index(fields=["sent_on", "id"], name="dispatch_by_day"),
        ),
    ]
