"""A version to come: one more column in a table that is guarded and sealed, and another look."""

from pathlib import Path

from django.conf import settings

PROJECT = Path(settings.BASE_DIR)
LATER = {
    "later/__init__.py": "",
    "later/models.py": """
from django.db import models
from workshop.kettle.models import Check
Check.add_to_class("probe", models.CharField(max_length=20, default="by hand"))
""",
    "later/settings.py": """
from workshop.settings import *
INSTALLED_APPS = [*INSTALLED_APPS, "later"]
MIGRATION_MODULES = {"kettle": "later.kettle"}
STATICFILES_DIRS = [Path(__file__).parent / "static", *STATICFILES_DIRS]
""",
    "later/kettle/__init__.py": f"__path__.append({str(PROJECT / 'workshop/kettle/migrations')!r})",
    "later/kettle/m9999_probe.py": """
from django.db import migrations, models
class Migration(migrations.Migration):
    dependencies = [("kettle", "{last}")]
    operations = [
        migrations.AddField("check", "probe", models.CharField(max_length=20, default="by hand")),
    ]
""",
    "later/static/css/kettle.css": "{kettle}\n:root { --version: later; }\n",
}
VERSION = {"DJANGO_SETTINGS_MODULE": "later.settings"}


def later_version(folder: Path) -> dict[str, str]:
    """Write it into a folder; the environment under which it is the one that runs."""
    last = max(path.stem for path in (PROJECT / "workshop/kettle/migrations").glob("0*.py"))
    kettle = (PROJECT / "static/css/kettle.css").read_text()
    for name, text in LATER.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text.replace("{last}", last).replace("{kettle}", kettle))
    return {**VERSION, "PYTHONPATH": str(folder)}
