"""A label version keeps whether the hourglass or words stand before its date."""

from typing import Any

from django.db import migrations, models

OFFERED_IN = ("EU", "UK")


def carry(apps: Any, _: Any) -> None:
    """As the designs say, by which the versions there are were printed until now."""
    designs = apps.get_model("labels", "LabelDesign").objects.filter(has_hourglass=True)
    products = list(designs.values_list("product_id", flat=True))
    for name in ("LabelVersion", "HistoricalLabelVersion"):
        versions = apps.get_model("labels", name).objects
        versions.filter(product_id__in=products, market__in=OFFERED_IN).update(has_hourglass=True)


def hourglass() -> Any:
    return models.BooleanField(default=False, verbose_name="the hourglass before the date")


class Migration(migrations.Migration):
    dependencies = [("labels", "0008_hourglass")]
    operations = [
        migrations.AddField("historicallabelversion", "has_hourglass", hourglass()),
        migrations.AddField("labelversion", "has_hourglass", hourglass()),
        migrations.RunPython(carry, migrations.RunPython.noop),
    ]
