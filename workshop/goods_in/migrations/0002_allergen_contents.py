"""Allergen contents and saponification values move here from the labels, tables and all.

A bought lot's figures belong where the lot comes in. The tables are renamed by the labels'
migration of the same name; here the book only learns whose they are.
"""

from typing import Any

import django.db.models.deletion
import simple_history.models
from django.conf import settings
from django.db import migrations, models

import workshop.core.fields

MODELS = [
    "allergencontent",
    "historicalallergencontent",
    "historicalsoapvalue",
    "soapvalue",
]


def move(apps: Any, editor: Any, was: str, becomes: str) -> None:
    """Permissions hang on the content type, so it moves rather than being made anew."""
    types = apps.get_model("contenttypes", "ContentType").objects.using(editor.connection.alias)
    there = set(types.filter(app_label=becomes).values_list("model", flat=True))
    types.filter(app_label=was, model__in=set(MODELS) - there).update(app_label=becomes)


def forwards(apps: Any, editor: Any) -> None:
    move(apps, editor, "labels", "goods_in")


def backwards(apps: Any, editor: Any) -> None:
    move(apps, editor, "goods_in", "labels")


class Migration(migrations.Migration):
    dependencies = [
        ("contenttypes", "0002_remove_content_type_name"),
        ("goods_in", "0001_initial"),
        ("labels", "0003_allergen_contents"),
        ("ledger", "0002_guards"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.SeparateDatabaseAndState(
            state_operations=[
                migrations.CreateModel(
                    name="HistoricalAllergenContent",
                    fields=[
                        (
                            "id",
                            models.BigIntegerField(
                                auto_created=True, blank=True, db_index=True, verbose_name="ID"
                            ),
                        ),
                        (
                            "name",
                            models.CharField(help_text="A name or CAS number.", max_length=120),
                        ),
                        ("share", workshop.core.fields.PercentField(places=4)),
                        ("source", models.CharField(blank=True, max_length=200)),
                        ("history_id", models.AutoField(primary_key=True, serialize=False)),
                        ("history_date", models.DateTimeField(db_index=True)),
                        ("history_change_reason", models.CharField(max_length=100, null=True)),
                        (
                            "history_type",
                            models.CharField(
                                choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")],
                                max_length=1,
                            ),
                        ),
                        (
                            "history_user",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "item",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="ledger.item",
                            ),
                        ),
                        (
                            "lot",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="ledger.lot",
                            ),
                        ),
                    ],
                    options={
                        "verbose_name": "historical allergen content",
                        "verbose_name_plural": "historical allergen contents",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="HistoricalSoapValue",
                    fields=[
                        (
                            "id",
                            models.BigIntegerField(
                                auto_created=True, blank=True, db_index=True, verbose_name="ID"
                            ),
                        ),
                        (
                            "value",
                            workshop.core.fields.FixedPointField(
                                places=1, verbose_name="saponification value, mg KOH/g"
                            ),
                        ),
                        ("history_id", models.AutoField(primary_key=True, serialize=False)),
                        ("history_date", models.DateTimeField(db_index=True)),
                        ("history_change_reason", models.CharField(max_length=100, null=True)),
                        (
                            "history_type",
                            models.CharField(
                                choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")],
                                max_length=1,
                            ),
                        ),
                        (
                            "history_user",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "item",
                            models.ForeignKey(
                                blank=True,
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to="ledger.item",
                            ),
                        ),
                    ],
                    options={
                        "verbose_name": "historical soap value",
                        "verbose_name_plural": "historical soap values",
                        "ordering": ("-history_date", "-history_id"),
                        "get_latest_by": ("history_date", "history_id"),
                    },
                    bases=(simple_history.models.HistoricalChanges, models.Model),
                ),
                migrations.CreateModel(
                    name="AllergenContent",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        (
                            "name",
                            models.CharField(help_text="A name or CAS number.", max_length=120),
                        ),
                        ("share", workshop.core.fields.PercentField(places=4)),
                        ("source", models.CharField(blank=True, max_length=200)),
                        (
                            "item",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="allergens",
                                to="ledger.item",
                            ),
                        ),
                        (
                            "lot",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="allergens",
                                to="ledger.lot",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-share", "name"],
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(("item", None), ("lot__isnull", False)),
                                    models.Q(("item__isnull", False), ("lot", None)),
                                    _connector="OR",
                                ),
                                name="allergen_is_of_an_item_or_a_lot",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("share__gte", 0), ("share__lte", 100)),
                                name="allergen_share_is_possible",
                            ),
                            models.UniqueConstraint(
                                fields=("item", "name"), name="allergen_once_an_item"
                            ),
                            models.UniqueConstraint(
                                fields=("lot", "name"), name="allergen_once_a_lot"
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="SoapValue",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        (
                            "value",
                            workshop.core.fields.FixedPointField(
                                places=1, verbose_name="saponification value, mg KOH/g"
                            ),
                        ),
                        (
                            "item",
                            models.OneToOneField(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="soap_value",
                                to="ledger.item",
                            ),
                        ),
                    ],
                    options={
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(("value__gte", 50), ("value__lte", 400)),
                                name="soap_value_is_possible",
                                violation_error_message="A saponification value lies between 50 and 400.",
                            )
                        ],
                    },
                ),
            ]
        ),
        migrations.RunPython(forwards, backwards),
    ]
