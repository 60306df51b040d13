"""Files handed in: what a person photographs is kept as it looks, all else is refused in words."""

import io
import random
import warnings
from collections.abc import Callable
from typing import Any

import pikepdf
import pytest
from PIL import Image

from workshop.core.errors import Refused
from workshop.core.uploads import checked_file

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
            written(Image.new("1", (10_000, 6_000)), "PNG"),
            "The picture has more than 50 million dots. Make it smaller.",
        ),
    ],
    ids=["empty", "text", "gif", "cut off", "damaged pdf", "too large", "60 million dots"],
)
def test_file_that_is_no_picture_of_use_is_refused_in_words(content: bytes, sentence: str) -> None:
    with pytest.raises(Refused) as refused:
        checked_file("tin.jpg", io.BytesIO(content))

    assert refused.value.sentence.startswith(sentence)


def test_pdf_that_does_not_count_its_pages_is_refused_in_words() -> None:
    out = io.BytesIO()
    with pikepdf.new() as document:
        for _ in range(2):
            document.add_blank_page()
        document.save(out, object_stream_mode=pikepdf.ObjectStreamMode.disable)
    whole = b"/Count 2 /Kids [ 3 0 R 4 0 R ]"
    assert whole in out.getvalue()
    content = out.getvalue().replace(whole, b"/Pages 2 /Kids [ 3 0 R 9 0 R ]")

    with pytest.raises(Refused, match="The PDF cannot be read; it may be damaged"):
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
                said = checked_file("tin.jpg", io.BytesIO(bytes(garbled))).name
            except Refused as error:
                said = error.sentence
        assert said in ("tin.jpg", "tin.png") or said.endswith(".")
