"""Colours of other batches or shades, on designs and on versions, which keep them once approved."""

from django.db import migrations, models

from workshop.core.triggers import create
from workshop.labels.guards import WITH_SHADES, version_guards

FORMER = create(*version_guards())
SHADES = models.TextField(
    "colours of other batches or shades",
    blank=True,
    default="",
    help_text="Named after “may contain”, one a line, such as CI 77491 (Iron Oxides).",
)


class Migration(migrations.Migration):
    dependencies = [("labels", "0003_allergen_contents")]
    operations = [
        migrations.RunPython(FORMER.reverse_code, FORMER.code),
        migrations.AddField("labeldesign", "may_contain", SHADES, preserve_default=False),
        migrations.AddField("historicallabeldesign", "may_contain", SHADES, preserve_default=False),
        migrations.AddField(
            "labelversion",
            "may_contain",
            models.JSONField("may contain", blank=True, default=list),
        ),
        create(*WITH_SHADES),
    ]
