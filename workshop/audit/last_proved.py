"""How far the book was last found sound, kept in the data folder beside it."""

import json
from dataclasses import asdict
from pathlib import Path

from django.conf import settings

from workshop.ledger.proof.seals import Mark


def _path() -> Path:
    return Path(settings.DATA_DIR) / "last-proved.json"


def last_mark() -> Mark:
    """Where the last proof ended; the beginning, if there was none or its file is no use."""
    try:
        return Mark(**json.loads(_path().read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError):
        return Mark()


def keep_mark(mark: Mark) -> None:
    path = _path()
    fresh = path.with_suffix(".new")
    fresh.write_text(json.dumps(asdict(mark)), encoding="utf-8")
    fresh.replace(path)
