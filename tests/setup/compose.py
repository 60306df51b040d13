"""What docker-compose.yml would give a container, for running it by hand."""

import os
import re
from pathlib import Path
from typing import Any

import yaml
from django.conf import settings

PROJECT = Path(settings.BASE_DIR)
HOST = "book.example.org"


def compose() -> dict[str, Any]:
    parsed: dict[str, Any] = yaml.safe_load((PROJECT / "docker-compose.yml").read_text())
    return parsed


def environment(service: str, secrets: Path, *, database_url: str) -> dict[str, str]:
    """The service's own environment, with made secrets and this machine's database server."""
    stated = compose()["services"][service]["environment"]
    values = {name: with_defaults(str(value)) for name, value in stated.items()}
    values = {name: value.replace("/run/secrets", str(secrets)) for name, value in values.items()}
    for name in ("secret-key", "database-password"):
        (secrets / name).write_text("k" + "0123456789abcdefghijklmnopqrstuvwxyz-" * 2 + "\n")
    inherited = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
    return {**inherited, **values, "DATABASE_URL": database_url, "TAREBOOK_DATA": str(secrets)}


def with_defaults(text: str) -> str:
    """Compose's ${NAME:-default}, with the host that the tests ask for."""
    text = text.replace("${TAREBOOK_HOST:-localhost}", HOST)
    return re.sub(r"\$\{\w+:-([^}]*)\}", r"\1", text)
