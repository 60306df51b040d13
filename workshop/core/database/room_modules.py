"""What the rooms say in modules of one name, such as `GUARDS` in `guarded_tables.py`."""

from importlib import import_module
from typing import Any

from django.apps import apps
from django.utils.module_loading import module_has_submodule


def said_by_rooms(module: str, name: str) -> list[Any]:
    """What stands under `name`, room by room; a room need not have such a module, or the name."""
    found = [
        import_module(f"{app.name}.{module}")
        for app in apps.get_app_configs()
        if module_has_submodule(app.module, module)
    ]
    return [getattr(one, name) for one in found if hasattr(one, name)]
