"""Looks into a file that a stranger may have made; run by itself, with little memory and time.

A few hundred kilobytes can unpack to a gigabyte. What is too heavy must end this process and not
the one that serves the book, so nothing of the framework is imported here: a file comes in on
standard input, and its kind and cleaned contents, or a sentence, go out.
"""

import io
import resource
import sys
from collections.abc import Callable

import pikepdf
from PIL import Image, ImageOps

MEMORY_BYTES = 384 * 1024 * 1024
CPU_SECONDS = 20
LARGEST_PIXELS = 25_000_000
REFUSED = 3
TOO_HEAVY = (
    "The file takes far more memory or time to open than its size allows. Print it to a new PDF, "
    "or take a picture of it, and hand that in."
)


class Unfit(Exception):  # noqa: N818 -- reads as a sentence where it is raised
    """The file is none that can be kept; the text is a sentence for whoever handed it in."""


def cleaned(content: bytes) -> tuple[str, bytes]:
    """The kind of the file, and its contents: a PDF as it is, a picture without its metadata."""
    if content.startswith(b"%PDF-"):
        _read_pdf(content)
        return "PDF", content
    try:
        return _read_picture(content)
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as error:
        raise Unfit("Only a PDF, a JPEG or a PNG picture can be handed in.") from error


def _read_pdf(content: bytes) -> None:
    try:
        with pikepdf.open(io.BytesIO(content)) as document:
            pages = len(document.pages)
    except pikepdf.PasswordError as error:
        raise Unfit("The PDF is locked with a password. Hand in an open copy.") from error
    except pikepdf.PikepdfError as error:
        raise Unfit("The PDF cannot be read; it may be damaged.") from error
    if not pages:
        raise Unfit("The PDF has no pages.")


def _read_picture(content: bytes) -> tuple[str, bytes]:
    clean = io.BytesIO()
    with Image.open(io.BytesIO(content), formats=["JPEG", "PNG"]) as picture:
        if picture.width * picture.height > LARGEST_PIXELS:
            raise Unfit("The picture has more than 25 million dots. Make it smaller.")
        # Of the two pictures that many telephones put into one JPEG, the first is kept.
        kind = "PNG" if picture.format == "PNG" else "JPEG"
        picture.load()
        # Turned upright first, since the camera's note of it goes with the metadata.
        ImageOps.exif_transpose(picture, in_place=True)
        if picture.palette:  # colours in a table of their own, perhaps one of them transparent
            picture.apply_transparency()
        picture.info.clear()
        picture.save(clean, kind)
    return kind, clean.getvalue()


def _limit_this_process() -> None:
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    resource.setrlimit(resource.RLIMIT_CPU, (CPU_SECONDS, CPU_SECONDS))
    resource.setrlimit(resource.RLIMIT_DATA, (MEMORY_BYTES, MEMORY_BYTES))


def main(look: Callable[[bytes], tuple[str, bytes]] = cleaned) -> int:
    """Look into what comes in, within the limits; `look` is how, for files of another use."""
    _limit_this_process()
    try:
        kind, clean = look(sys.stdin.buffer.read())
    except Unfit as error:
        sys.stdout.buffer.write(str(error).encode())
        return REFUSED
    except MemoryError:
        sys.stdout.buffer.write(TOO_HEAVY.encode())
        return REFUSED
    sys.stdout.buffer.write(kind.encode() + b"\n")
    sys.stdout.buffer.write(clean)
    return 0


if __name__ == "__main__":
    sys.exit(main())
