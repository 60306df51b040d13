"""Artwork and logos that a workshop hands in: what is taken, and how sharp it prints where."""

import io
from base64 import b64encode
from dataclasses import dataclass
from functools import cached_property, lru_cache
from pathlib import Path
from typing import IO
from xml.etree import ElementTree as Tree

from PIL import Image

from workshop.core.errors import ActionRefused
from workshop.core.files.uploads import CheckedFile, checked_file

ACCEPT = ".pdf,.svg,.png,.jpg,.jpeg"
PROGRAM = str(Path(__file__).parent / "artwork_check.py")
SVG = "image/svg+xml"
# Common practice, no source: on the longest label of 200 mm this is 150 dots an inch.
LEAST_DOTS = 600
LARGEST_BYTES = 3_000_000
# Common practice, no source: below the one a picture looks rough on a label printer, below the
# other on a press.
LEAST_DPI, PRESS_DPI = 150, 250
MM_PER_INCH = 25.4
# So much of a picture may be cut away before a word is said.
MOST_CUT = 0.35
MOST_KEPT = 32


@dataclass(frozen=True)
class Artwork:
    """A picture or drawing of the workshop's own; `is_ground` puts it behind the whole label."""

    content: bytes
    content_type: str
    is_ground: bool = False

    @property
    def source(self) -> str:
        return f"data:{self.content_type};base64,{b64encode(self.content).decode()}"

    @cached_property
    def size(self) -> tuple[float, float]:
        """Its width and height, in dots or in a drawing's own measure."""
        if self.content_type == SVG:
            root = Tree.fromstring(self.content)  # noqa: S314 -- it was cleaned when handed in
            return float(root.get("width", "1")), float(root.get("height", "1"))
        with Image.open(io.BytesIO(self.content)) as picture:
            return picture.size

    def dots_an_inch(self, wide_mm: float, high_mm: float, *, whole: bool = False) -> int | None:
        """How sharp it prints where it fills so much, or stands whole in it; None for drawings."""
        if self.content_type == SVG:
            return None
        wide, high = self.size
        across, down = wide_mm / wide, high_mm / high
        return round(MM_PER_INCH / (min(across, down) if whole else max(across, down)))

    def cut_away(self, wide_mm: float, high_mm: float) -> float:
        """The part of it that is cut away where it fills so much."""
        wide, high = self.size
        mine, theirs = wide / high, wide_mm / high_mm
        return 1 - min(mine, theirs) / max(mine, theirs)


def checked_artwork(name: str, file: IO[bytes]) -> CheckedFile:
    """Read artwork: a PDF becomes a picture, an SVG shapes alone; else refused with a sentence."""
    return checked_file(name, file, program=PROGRAM)


def refuse_unfit(file: CheckedFile, field: str = "artwork") -> None:
    """Raises ActionRefused, with the reason, for artwork that would print badly or not at all."""
    if len(file.content) > LARGEST_BYTES:
        raise ActionRefused("Artwork on labels is at most 3 MB large.", field=field)
    if file.content_type == SVG:
        return
    least = LEAST_DOTS // 3 if field == "logo" else LEAST_DOTS
    wide, high = Artwork(file.content, file.content_type).size
    if min(wide, high) < least / 4 or max(wide, high) < least:
        raise ActionRefused(
            f"It has {wide} × {high} dots; the longer side needs at least {least} to print "
            f"sharply, the shorter {least // 4}.",
            field=field,
        )


@lru_cache(MOST_KEPT)
def as_picture(content: bytes, content_type: str) -> tuple[bytes, str]:
    """Artwork as it is drawn; a PDF of an earlier version's book becomes a picture, apart."""
    if content_type != "application/pdf":
        return content, content_type
    try:
        file = checked_artwork("artwork.pdf", io.BytesIO(content))
    except ActionRefused:
        return b"", ""
    return file.content, file.content_type
