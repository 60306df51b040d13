"""Files handed in: only what a certificate or a photo can be, of a size that makes sense."""

import hashlib
import io
from dataclasses import dataclass
from datetime import datetime
from pathlib import PurePath
from typing import IO

import pikepdf
from django.core.files.base import ContentFile
from PIL import Image, ImageOps

from workshop.core.errors import Refused
from workshop.core.models import Upload, User

LARGEST_BYTES = 10 * 1024 * 1024
LARGEST_PIXELS = 50_000_000
PICTURES = {"JPEG": ("image/jpeg", ".jpg"), "PNG": ("image/png", ".png")}
ACCEPT = ".pdf,.jpg,.jpeg,.png"


@dataclass(frozen=True)
class CheckedFile:
    """A file that is what it says it is, with pictures freed of their metadata."""

    name: str
    content: bytes
    content_type: str


def checked_file(name: str, file: IO[bytes]) -> CheckedFile:
    """Read a PDF, JPEG or PNG of at most 10 MB; anything else is refused with a sentence."""
    content = file.read(LARGEST_BYTES + 1)
    if len(content) > LARGEST_BYTES:
        raise Refused("The file is larger than 10 MB. Scan it at a lower resolution.")
    if not content:
        raise Refused("The file is empty.")
    stem = PurePath(name.replace("\\", "/")).stem[:150] or "file"
    if content.startswith(b"%PDF-"):
        _open_pdf(content)
        return CheckedFile(f"{stem}.pdf", content, "application/pdf")
    return _picture(stem, content)


def _open_pdf(content: bytes) -> None:
    try:
        with pikepdf.open(io.BytesIO(content)) as document:
            pages = len(document.pages)
    except pikepdf.PasswordError as error:
        raise Refused("The PDF is locked with a password. Hand in an open copy.") from error
    except pikepdf.PikepdfError as error:
        raise Refused("The PDF cannot be read; it may be damaged.") from error
    if not pages:
        raise Refused("The PDF has no pages.")


def _picture(stem: str, content: bytes) -> CheckedFile:
    try:
        with Image.open(io.BytesIO(content), formats=list(PICTURES)) as picture:
            if picture.width * picture.height > LARGEST_PIXELS:
                raise Refused("The picture has more than 50 million dots. Make it smaller.")
            # Of the two pictures that many telephones put into one JPEG, the first is kept.
            kind = "PNG" if picture.format == "PNG" else "JPEG"
            content_type, ending = PICTURES[kind]
            clean = io.BytesIO()
            # Turned upright first, since the camera's note of it goes with the metadata.
            upright = ImageOps.exif_transpose(picture)
            bare = Image.new(upright.mode, upright.size)
            bare.paste(upright)
            if upright.palette:  # colours in a table of their own, perhaps one of them transparent
                upright.apply_transparency()
                bare.putpalette(upright.palette.tobytes(), upright.palette.mode)
            bare.save(clean, kind)
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as error:
        raise Refused("Only a PDF, a JPEG or a PNG picture can be handed in.") from error
    return CheckedFile(f"{stem}{ending}", clean.getvalue(), content_type)


def keep(file: CheckedFile, *, by: User, at: datetime) -> Upload:
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
