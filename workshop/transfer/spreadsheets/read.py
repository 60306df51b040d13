"""A spreadsheet as it was brought: checked apart, and kept until it is taken in or forgotten."""

import hashlib
import json
import os
import re
import subprocess
import sys
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from django.conf import settings

from workshop.core.errors import ActionRefused
from workshop.transfer.backups.folder import whole_file
from workshop.transfer.spreadsheets import sheet_reader

LARGEST_BYTES = 10 * 1024 * 1024
LONGEST_SECONDS = 2 * sheet_reader.CPU_SECONDS
KEPT_SECONDS = 24 * 60 * 60
DIGEST = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True)
class Sheet:
    """One sheet: its name (none for CSV), and its rows of text, the headings first."""

    name: str
    rows: list[list[str]]


def folder() -> Path:
    return Path(settings.DATA_DIR) / "brought-in"


def keep(file: IO[bytes]) -> str:
    """Keep a file beside the book while its dry run is looked at; what names it is its SHA-256."""
    content = file.read(LARGEST_BYTES + 1)
    if len(content) > LARGEST_BYTES:
        raise ActionRefused("The file is larger than 10 MB. Divide it.", field="file")
    digest = hashlib.sha256(content).hexdigest()
    folder().mkdir(parents=True, exist_ok=True, mode=0o700)
    _forget_old()
    whole_file(folder() / digest, [content])
    now = time.time()  # the book's own clock, which decides when the file is forgotten
    os.utime(folder() / digest, (now, now))
    return digest


def is_kept(digest: str) -> bool:
    return bool(DIGEST.fullmatch(digest)) and (folder() / digest).exists()


def _forget_old() -> None:
    for path in folder().iterdir():
        with suppress(OSError):
            if DIGEST.match(path.name) and path.stat().st_mtime < time.time() - KEPT_SECONDS:
                path.unlink()


def sheets(digest: str) -> list[Sheet]:
    """The sheets of a kept file. Raises ActionRefused where it is gone or cannot be read."""
    if not DIGEST.fullmatch(digest):
        raise ActionRefused("Choose the file again.", field="file")
    try:
        content = (folder() / digest).read_bytes()
    except OSError as error:
        raise ActionRefused("The file is no longer kept. Choose it again.", field="file") from error
    return [Sheet(one["name"], one["rows"]) for one in json.loads(_read_apart(content))]


def _read_apart(content: bytes) -> str:
    command = [sys.executable, "-I", str(Path(sheet_reader.__file__))]
    try:
        look = subprocess.run(  # noqa: S603  a program of our own
            command, input=content, capture_output=True, timeout=LONGEST_SECONDS, check=False
        )
    except subprocess.TimeoutExpired as error:
        raise ActionRefused(sheet_reader.TOO_HEAVY, field="file") from error
    if look.returncode == sheet_reader.REFUSED:
        raise ActionRefused(look.stdout.decode(), field="file")
    if look.returncode:
        raise ActionRefused(sheet_reader.TOO_HEAVY, field="file")
    return look.stdout.decode()
