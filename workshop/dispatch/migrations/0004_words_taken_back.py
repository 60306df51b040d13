"""The word of an arrival can be taken back, and a fresh one follow it."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from workshop.core.triggers import create, drop
from workshop.dispatch.guards import GUARDS, ONE_WORD


class Migration(migrations.Migration):
    dependencies = [
        ("dispatch", "0003_guards"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]
    operations = [
        # SQLite rebuilds the table below, and its triggers with it would be gone.
        drop(*GUARDS),
        migrations.AddField(
            model_name="arrival",
            name="token",
            field=models.CharField(blank=True, default="", max_length=64),
        ),
        migrations.AddField(
            model_name="arrival",
            name="turn",
            field=models.PositiveSmallIntegerField(default=0),
        ),
        migrations.AlterField(
            model_name="arrival",
            name="dispatch",
            field=models.ForeignKey(
                db_index=False,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="arrivals",
                to="dispatch.dispatch",
            ),
        ),
        migrations.AddConstraint(
            model_name="arrival",
            constraint=models.UniqueConstraint(
                fields=("dispatch", "turn"), name="arrival_one_word_a_turn"
            ),
        ),
        migrations.AddConstraint(
            model_name="arrival",
            constraint=models.UniqueConstraint(
                condition=models.Q(("token", ""), _negated=True),
                fields=("dispatch", "token"),
                name="arrival_once_a_form",
            ),
        ),
        migrations.CreateModel(
            name="WordTakenBack",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("reason", models.CharField(max_length=300)),
                ("at", models.DateTimeField()),
                (
                    "arrival",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="taken_back",
                        to="dispatch.arrival",
                    ),
                ),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "verbose_name_plural": "words taken back",
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("reason", ""), _negated=True),
                        name="word_taken_back_says_why",
                        violation_error_message="Say why it is taken back.",
                    )
                ],
            },
        ),
        create(*GUARDS, *ONE_WORD),
    ]
