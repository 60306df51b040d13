"""Every colour of a drawing told as the four inks: operators, shadings, groups and pictures."""

from functools import cache
from typing import Any

import pikepdf
from PIL import ImageFilter

from workshop.rules.labels.contrast import cmyk_of

RGB_TO_CMYK = {"rg": "k", "RG": "K"}
RGB = 3
# Steps of each colour in the table that pictures go through; between them it is interpolated.
STEPS = 18
HOLDERS = (pikepdf.Dictionary, pikepdf.Stream)


def in_inks(pdf: pikepdf.Pdf) -> None:
    """Tell all that a PDF of ours draws as cyan, magenta, yellow and black."""
    for page in pdf.pages:
        page.obj.Contents = pdf.make_stream(_operators(page))
    for held in list(pdf.objects):
        if isinstance(held, pikepdf.Stream):
            _stream(held)
        _inside(held)


def _stream(held: pikepdf.Stream) -> None:
    if held.get("/Subtype") == "/Image":
        if held.get("/ColorSpace") == "/DeviceRGB":
            _picture(held)
    elif held.get("/Subtype") == "/Form" or "/PatternType" in held:
        held.write(_operators(held))


def _inside(held: Any) -> None:
    """Shadings and groups, also those that stand inside another object."""
    if isinstance(held, pikepdf.Array):
        parts: list[Any] = list(held)
    elif isinstance(held, HOLDERS):
        _drop_unused(held)
        if "/ShadingType" in held and held.get("/ColorSpace") == "/DeviceRGB":
            held.ColorSpace = pikepdf.Name.DeviceCMYK
            _function(held.Function)
        if held.get("/CS") == "/DeviceRGB":
            held.CS = pikepdf.Name.DeviceCMYK
        parts = list(held.values())
    else:
        return
    for part in parts:
        # What is an object of its own comes by itself.
        if isinstance(part, (*HOLDERS, pikepdf.Array)) and not part.is_indirect:
            _inside(part)


def _drop_unused(held: Any) -> None:
    """The typesetter names a space of its own on every page, in which nothing of ours is drawn."""
    named = held.get("/ColorSpace")
    if isinstance(named, pikepdf.Dictionary):
        for name, space in list(named.items()):
            if isinstance(space, pikepdf.Array) and space[0] == "/Lab":
                del named[name]


def _function(held: Any) -> None:
    for end in ("/C0", "/C1"):
        if end in held and len(held[end]) == RGB:
            held[end] = pikepdf.Array(_inks(held[end]))
    for part in held.get("/Functions", []):
        _function(part)


def _inks(parts: Any) -> list[Any]:
    hexes = "".join(f"{round(float(one) * 255):02x}" for one in parts)
    return list(cmyk_of(f"#{hexes}"))


def _operators(holder: Any) -> bytes:
    told: list[Any] = []
    for part in pikepdf.parse_content_stream(holder):
        name = RGB_TO_CMYK.get(str(part.operator))
        operands = list(part.operands) if name else []
        if name and len(operands) == RGB:
            told.append((_inks(operands), pikepdf.Operator(name)))
        else:
            told.append(part)
    return pikepdf.unparse_content_stream(told)


def _picture(held: pikepdf.Stream) -> None:
    picture = pikepdf.PdfImage(held).as_pil_image().convert("RGB").filter(_table())
    held.write(picture.tobytes())
    held.ColorSpace = pikepdf.Name.DeviceCMYK
    held.BitsPerComponent = 8
    for key in ("/DecodeParms", "/Decode"):
        if key in held:
            del held[key]


@cache
def _table() -> ImageFilter.Color3DLUT:
    return ImageFilter.Color3DLUT.generate(
        STEPS,
        lambda *parts: tuple(float(ink) for ink in _inks(parts)),
        channels=len("cmyk"),
        target_mode="CMYK",
    )
