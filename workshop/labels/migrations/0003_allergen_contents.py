"""Allergen contents and saponification values go to goods-in: the tables keep their rows."""

from django.db import migrations

MODELS = ["AllergenContent", "HistoricalAllergenContent", "HistoricalSoapValue", "SoapValue"]


class Migration(migrations.Migration):
    dependencies = [("goods_in", "0001_initial"), ("labels", "0002_guards")]

    operations = [
        migrations.SeparateDatabaseAndState(
            database_operations=[
                migrations.AlterModelTable(name, f"goods_in_{name.lower()}") for name in MODELS
            ],
            state_operations=[migrations.DeleteModel(name) for name in MODELS],
        ),
    ]
