"""Files handed in: only what a certificate or a photo can be, of a size that makes sense."""

import hashlib
import subprocess
import sys
from dataclasses import dataclass
from datetime import datetime
from pathlib import PurePath
from typing import IO

from django.core.files.base import ContentFile

from workshop.core.errors import ActionRefused
from workshop.core.files import file_check
from workshop.core.models import Upload, User

LARGEST_BYTES = 10 * 1024 * 1024
LONGEST_SECONDS = 3 * file_check.CPU_SECONDS  # of the clock, on a machine that does other things
KINDS = {
    "PDF": ("application/pdf", ".pdf"),
    "JPEG": ("image/jpeg", ".jpg"),
    "PNG": ("image/png", ".png"),
    "SVG": ("image/svg+xml", ".svg"),
}
ACCEPT = ".pdf,.jpg,.jpeg,.png"


@dataclass(frozen=True)
class CheckedFile:
    """A file that is what it says it is, with pictures freed of their metadata."""

    name: str
    content: bytes
    content_type: str


def checked_file(name: str, file: IO[bytes], *, program: str = file_check.__file__) -> CheckedFile:
    """Read a PDF, JPEG or PNG of at most 10 MB; anything else is refused with a sentence.

    `program` looks into it in a process of its own, and says what is kept of it.
    """
    content = file.read(LARGEST_BYTES + 1)
    if len(content) > LARGEST_BYTES:
        raise ActionRefused("The file is larger than 10 MB. Scan it at a lower resolution.")
    if not content:
        raise ActionRefused("The file is empty.")
    stem = PurePath(name.replace("\\", "/")).stem[:150] or "file"
    kind, clean = _checked_apart(content, program)
    content_type, ending = KINDS[kind]
    return CheckedFile(f"{stem}{ending}", clean, content_type)


def _checked_apart(content: bytes, program: str) -> tuple[str, bytes]:
    """Look into the file in a process of its own, which may take little memory and time."""
    command = [sys.executable, "-I", program]
    try:
        look = subprocess.run(  # noqa: S603  a program of our own
            command, input=content, capture_output=True, timeout=LONGEST_SECONDS, check=False
        )
    except subprocess.TimeoutExpired as error:
        raise ActionRefused(file_check.TOO_HEAVY) from error
    if look.returncode == file_check.REFUSED:
        raise ActionRefused(look.stdout.decode())
    if look.returncode:
        raise ActionRefused(file_check.TOO_HEAVY)
    kind, _, clean = look.stdout.partition(b"\n")
    return kind.decode(), clean


def store_upload(file: CheckedFile, *, by: User, at: datetime) -> Upload:
    """Store a checked file under a name that says nothing; its own name is in the row."""
    digest = hashlib.sha256(file.content).hexdigest()
    ending = PurePath(file.name).suffix
    return Upload.objects.create(
        file=ContentFile(file.content, name=f"{digest[:32]}{ending}"),
        name=file.name,
        content_type=file.content_type,
        size=len(file.content),
        sha256=digest,
        uploaded_at=at,
        uploaded_by=by,
    )
