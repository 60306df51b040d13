"""Reading a file for a print shop back: its boxes, its inks, and the faces of its words."""

import io
from collections.abc import Iterator
from typing import Any

import pikepdf

SHOWN = {"Tj", "TJ", "'", '"'}
FILLS = {"g", "rg", "k"}
OTHER = {"G", "RG", "K", "cs", "CS", "sc", "SC", "scn", "SCN"}
Ink = tuple[str, ...]


def boxes_mm(pdf: bytes) -> list[list[list[float]]]:
    """Media, bleed and trim box of each page."""
    with pikepdf.open(io.BytesIO(pdf)) as read:
        return [
            [
                [round(float(edge) / 72 * 25.4, 1) for edge in page.obj[name]]
                for name in ("/MediaBox", "/BleedBox", "/TrimBox")
            ]
            for page in read.pages
        ]


def colour_spaces(pdf: bytes) -> set[str]:
    """Every colour space that pictures, shadings, groups and resources of the file name."""
    with pikepdf.open(io.BytesIO(pdf)) as read:
        return {name for held in read.objects for name in _spaces_in(held)}


def _spaces_in(held: Any) -> Iterator[str]:
    if isinstance(held, pikepdf.Array):
        for part in held:
            yield from _spaces_in(part) if not _is_apart(part) else ()
    elif isinstance(held, (pikepdf.Dictionary, pikepdf.Stream)):
        for key in ("/ColorSpace", "/CS"):
            if key in held:
                yield from _heads(held[key])
        for part in held.values():
            yield from _spaces_in(part) if not _is_apart(part) else ()


def _is_apart(part: Any) -> bool:
    return bool(getattr(part, "is_indirect", False))


def _heads(space: Any) -> Iterator[str]:
    if isinstance(space, pikepdf.Dictionary):
        for each in space.values():
            yield from _heads(each)
    elif isinstance(space, pikepdf.Array):
        yield str(space[0])
        # An indexed or patterned space rests on another.
        yield from _heads(space[1]) if len(space) > 1 and str(space[0]) != "/ICCBased" else ()
    elif isinstance(space, pikepdf.Name):
        yield str(space)


def inks(pdf: bytes) -> tuple[set[str], set[Ink]]:
    """The operators by which colours are chosen, and the inks in which words are drawn."""
    chosen: set[str] = set()
    words: set[Ink] = set()
    with pikepdf.open(io.BytesIO(pdf)) as read:
        for page in read.pages:
            _read(page, page.obj.get("/Resources"), ("g", "0"), chosen, words)
    return chosen, words


def _read(holder: Any, resources: Any, fill: Ink, chosen: set[str], words: set[Ink]) -> None:
    kept: list[Ink] = []
    for part in pikepdf.parse_content_stream(holder):
        name = str(part.operator)
        if name == "q":
            kept.append(fill)
        elif name == "Q":
            fill = kept.pop()
        elif name in FILLS or name in OTHER:
            chosen.add(name)
            fill = _fill_after(name, part.operands, fill)
        elif name in SHOWN:
            words.add(fill)
        elif name == "Do":
            _read_form(resources.XObject[str(part.operands[0])], resources, fill, chosen, words)


def _fill_after(name: str, operands: Any, fill: Ink) -> Ink:
    if name in FILLS:
        return (name, *(f"{float(one):g}" for one in operands))
    return (name,) if name in ("cs", "sc", "scn") else fill


def _read_form(drawn: Any, resources: Any, fill: Ink, chosen: set[str], words: set[Ink]) -> None:
    if drawn.get("/Subtype") == "/Form":
        _read(drawn, drawn.get("/Resources", resources), fill, chosen, words)


def faces(pdf: bytes) -> dict[str, bool]:
    """The typefaces of the file, and whether each is inside it."""
    with pikepdf.open(io.BytesIO(pdf)) as read:
        fonts = [
            held
            for held in read.objects
            if isinstance(held, pikepdf.Dictionary) and held.get("/Type") == "/FontDescriptor"
        ]
        return {
            str(one.FontName): any(key in one for key in ("/FontFile", "/FontFile2", "/FontFile3"))
            for one in fonts
        } | {
            str(held.BaseFont): False
            for held in read.objects
            if isinstance(held, pikepdf.Dictionary)
            and held.get("/Type") == "/Font"
            and "/FontDescriptor" not in held
            and "/DescendantFonts" not in held
        }
