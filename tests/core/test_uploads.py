"""Files handed in: what a person photographs is kept as it looks, all else is refused in words."""

import io
import random
import resource
import subprocess
import sys
import warnings
import zlib
from collections.abc import Callable
from typing import Any

import pikepdf
import pytest
from PIL import Image

from workshop.core.errors import ActionRefused
from workshop.core.files.file_check import MEMORY_BYTES, TOO_HEAVY, Unfit, cleaned
from workshop.core.files.uploads import checked_file

RED = Image.new("RGB", (40, 30), (200, 30, 30))


def written(picture: Image.Image, kind: str, **values: Any) -> bytes:
    out = io.BytesIO()
    picture.save(out, kind, **values)
    return out.getvalue()


def two_in_one() -> bytes:
    """A JPEG with a second picture behind the first (CIPA DC-007), as many telephones write it."""
    return written(RED, "MPO", save_all=True, append_images=[RED])


@pytest.mark.parametrize(
    ("content", "name"),
    [
        (lambda: written(RED, "JPEG"), "tin.jpg"),
        (two_in_one, "tin.jpg"),
        (lambda: written(RED, "PNG"), "tin.png"),
        (lambda: written(RED.quantize(8), "PNG"), "tin.png"),
        (lambda: written(RED.convert("CMYK"), "JPEG"), "tin.jpg"),
    ],
    ids=["photo", "two in one", "png named jpg", "table of colours", "four inks"],
)
def test_picture_keeps_its_colours_and_gets_the_ending_of_its_kind(
    content: Callable[[], bytes], name: str
) -> None:
    file = checked_file("tin.jpg", io.BytesIO(content()))

    with Image.open(io.BytesIO(file.content)) as kept:
        colour = kept.convert("RGB").getpixel((5, 5))
    assert isinstance(colour, tuple)
    assert [round(part, -1) for part in colour] == [200, 30, 30]
    assert file.name == name


def test_transparent_colour_of_a_table_stays_transparent() -> None:
    drawn = RED.quantize(8)
    content = written(drawn, "PNG", transparency=drawn.getpixel((5, 5)))

    file = checked_file("tin.png", io.BytesIO(content))

    with Image.open(io.BytesIO(file.content)) as kept:
        assert kept.convert("RGBA").getpixel((5, 5)) == (200, 30, 30, 0)


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "The file is empty."),
        (b"not a picture", "Only a PDF, a JPEG or a PNG picture can be handed in."),
        (b"GIF89a" + bytes(40), "Only a PDF, a JPEG or a PNG picture can be handed in."),
        (written(RED, "JPEG")[:300], "Only a PDF, a JPEG or a PNG picture can be handed in."),
        (b"%PDF-1.7\nnothing", "The PDF cannot be read; it may be damaged."),
        (bytes(10 * 1024 * 1024 + 1), "The file is larger than 10 MB."),
        (
            written(Image.new("1", (10_000, 2_501)), "PNG"),
            "The picture has more than 25 million dots. Make it smaller.",
        ),
    ],
    ids=["empty", "text", "gif", "cut off", "damaged pdf", "too large", "too many dots"],
)
def test_file_that_is_no_picture_of_use_is_refused_in_words(content: bytes, sentence: str) -> None:
    with pytest.raises(ActionRefused) as refused:
        checked_file("tin.jpg", io.BytesIO(content))

    assert refused.value.message.startswith(sentence)


def test_pdf_that_does_not_count_its_pages_is_refused_in_words() -> None:
    out = io.BytesIO()
    with pikepdf.new() as document:
        for _ in range(2):
            document.add_blank_page()
        document.save(out, object_stream_mode=pikepdf.ObjectStreamMode.disable)
    whole = b"/Count 2 /Kids [ 3 0 R 4 0 R ]"
    assert whole in out.getvalue()
    content = out.getvalue().replace(whole, b"/Pages 2 /Kids [ 3 0 R 9 0 R ]")

    with pytest.raises(ActionRefused, match="The PDF cannot be read; it may be damaged"):
        checked_file("certificate.pdf", io.BytesIO(content))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "MPO"])
def test_picture_garbled_anywhere_is_kept_or_refused(kind: str) -> None:
    draw, whole = random.Random(7), two_in_one() if kind == "MPO" else written(RED, kind)
    for _ in range(300):
        garbled = bytearray(whole)
        for _ in range(draw.randint(1, 6)):
            garbled[draw.randrange(min(len(garbled), 400))] = draw.randrange(256)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # the library remarks on what it mends
            try:
                said = cleaned(bytes(garbled))[0]
            except Unfit as error:
                said = str(error)
        assert said in ("JPEG", "PNG") or said.endswith(".")


def test_picture_is_kept_without_the_place_it_was_taken_at() -> None:
    about = Image.Exif()
    about[0x010F] = "a maker of telephones"
    about[0x0112] = 6  # turned by a quarter
    content = written(RED, "JPEG", exif=about, comment=b"at the back door")

    file = checked_file("tin.jpg", io.BytesIO(content))

    with Image.open(io.BytesIO(file.content)) as kept:
        assert kept.size == (30, 40)
        assert dict(kept.getexif()) == {}
        assert "comment" not in kept.info


# ---- files made to harm --------------------------------------------------------------------------


def heavy_pdf(megabytes: int) -> bytes:
    """A PDF whose catalogue lies in an object stream (ISO 32000-1, 7.5.7) that unpacks so far."""
    parts = [
        b"<</Type/Catalog/Pages 2 0 R>> ",
        b"<</Type/Pages/Kids[3 0 R]/Count 1>> ",
        b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 9 9]>> ",
    ]
    second, third = len(parts[0]), len(parts[0] + parts[1])
    head = f"1 0 2 {second} 3 {third} ".encode()
    pack = zlib.compressobj(9)
    packed = pack.compress(head + b"".join(parts))
    packed += b"".join(pack.compress(b" " * 2**20) for _ in range(megabytes)) + pack.flush()
    out = io.BytesIO(b"%PDF-1.7\n")
    at_stream = out.seek(0, io.SEEK_END)
    out.write(b"4 0 obj<</Type/ObjStm/N 3/First %d/Filter/FlateDecode" % len(head))
    out.write(b"/Length %d>>stream\n" % len(packed) + packed + b"\nendstream endobj\n")
    at_table = out.tell()
    rows = [(0, 0, 0), (2, 4, 0), (2, 4, 1), (2, 4, 2), (1, at_stream, 0), (1, at_table, 0)]
    table = b"".join(bytes([kind, *at.to_bytes(4, "big"), more]) for kind, at, more in rows)
    out.write(b"5 0 obj<</Type/XRef/Size 6/Root 1 0 R/W[1 4 1]/Length %d>>stream\n" % len(table))
    out.write(table + b"\nendstream endobj\nstartxref\n%d\n%%%%EOF" % at_table)
    return out.getvalue()


def test_pdf_that_unpacks_to_far_more_than_its_size_is_refused_with_little_memory() -> None:
    light, heavy = heavy_pdf(1), heavy_pdf(450)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss

    kept = checked_file("certificate.pdf", io.BytesIO(light))
    with pytest.raises(ActionRefused) as refused:
        checked_file("certificate.pdf", io.BytesIO(heavy))

    assert kept.content == light
    assert len(heavy) < 500_000
    assert refused.value.message.endswith(".")
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 64 * 1024
    assert measured(heavy) < 400


def measured(content: bytes) -> int:
    """How many megabytes the look into a file takes at most, measured in a process of its own."""
    if sys.platform != "linux":
        pytest.skip("another system does not hold a process to its limit of memory")
    measure = (
        "import resource, subprocess, sys; from workshop.core.files import file_check;"
        "subprocess.run([sys.executable, '-I', file_check.__file__], input=sys.stdin.buffer.read(),"
        "               capture_output=True);"
        "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)"
    )
    said = subprocess.run([sys.executable, "-c", measure], input=content, stdout=-1, check=True)
    return int(said.stdout) // 1024


@pytest.mark.parametrize("mode", ["RGBA", "I;16"])
def test_largest_picture_is_taken_within_the_memory_allowed(mode: str) -> None:
    about = Image.Exif()
    about[0x0112] = 6
    content = written(Image.new(mode, (5000, 5000)), "PNG", exif=about)

    file = checked_file("tin.png", io.BytesIO(content))

    assert file.name == "tin.png"
    assert measured(content) < MEMORY_BYTES // 2**20


def test_look_that_is_cut_short_is_a_refusal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("workshop.core.files.uploads.LONGEST_SECONDS", 0.001)

    with pytest.raises(ActionRefused) as refused:
        checked_file("tin.png", io.BytesIO(written(RED, "PNG")))

    assert refused.value.message == TOO_HEAVY
