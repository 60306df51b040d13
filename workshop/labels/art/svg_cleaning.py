"""A drawing in SVG that a stranger may have made: shapes and colours are kept, nothing else.

No script, no event, no address outside the drawing gets through; what would change the picture if
it were dropped is refused with a sentence instead. Nothing of the framework is imported here, as a
process of its own runs it. Source: SVG 1.1 (second edition), elements and attributes by name.
"""

import re
from collections.abc import Iterator
from functools import partial
from xml.etree import ElementTree as Tree

from workshop.core.files.file_check import Unfit

SVG, XLINK = "http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"
HREFS = ("href", f"{{{XLINK}}}href")
# Our own limits: a drawing for a label has some hundred parts.
MOST_BYTES, MOST_PARTS, DEEPEST = 400_000, 20_000, 60
MOST_SIDE, MOST_RATIO = 100_000.0, 20
SHAPES = {"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"}
KEPT = SHAPES | {
    "svg", "g", "defs", "use", "linearGradient", "radialGradient", "stop", "clipPath", "style",
}  # fmt: skip
REFUSED = {
    "text": "letters as text. Turn them into paths, so that they print alike everywhere",
    "image": "a picture in it. Hand in the whole as a PDF or PNG",
    "filter": "an effect (a filter). Hand in the whole as a PDF or PNG",
    "mask": "a mask. Hand in the whole as a PDF or PNG",
    "pattern": "a pattern. Turn it into paths, or hand in the whole as a PDF or PNG",
    "symbol": "symbols. Save it as plain paths",
}
LOOKS = {
    "fill", "fill-opacity", "fill-rule", "stroke", "stroke-width", "stroke-opacity",
    "stroke-linecap", "stroke-linejoin", "stroke-miterlimit", "stroke-dasharray",
    "stroke-dashoffset", "opacity", "clip-path", "clip-rule", "color", "display", "visibility",
    "stop-color", "stop-opacity",
}  # fmt: skip
ATTRIBUTES = LOOKS | {
    "id", "class", "style", "transform", "d", "points", "x", "y", "x1", "y1", "x2", "y2", "cx",
    "cy", "r", "rx", "ry", "fx", "fy", "width", "height", "viewBox", "preserveAspectRatio",
    "offset", "gradientUnits", "gradientTransform", "spreadMethod", "clipPathUnits",
}  # fmt: skip
_LOCAL = re.compile(r"url\(\s*['\"]?#([\w.:-]+)['\"]?\s*\)")
_RULE = re.compile(r"([^{}]+)\{([^{}]*)\}")
_NO_RULE = re.compile(r"/\*.*?\*/|@[^;{}]*;", re.DOTALL)
_NUMBER = re.compile(r"\s*([+]?\d+(?:\.\d*)?|[+]?\.\d+)(?:px|mm|cm|in|pt)?\s*")


def cleaned_svg(content: bytes) -> bytes:
    """The drawing with shapes and colours alone. Raises Unfit, with a sentence, where it cannot."""
    if len(content) > MOST_BYTES:
        raise Unfit("A drawing in SVG is at most 400 kB large. Make it simpler.")
    root = _cleaned(_read(content), 0)
    if root is None or root.tag != "svg":
        raise Unfit("The SVG has no drawing in it.")
    _sized(root)
    _refuse_heavy(root)
    if not any(one.tag in SHAPES for one in root.iter()):
        raise Unfit("The SVG has no drawing in it.")
    root.set("xmlns", SVG)
    written: bytes = Tree.tostring(root, encoding="utf-8")
    return written


def _read(content: bytes) -> Tree.Element:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise Unfit("The SVG is not written in UTF-8. Save it again as plain SVG.") from error
    if "<!ENTITY" in text:
        raise Unfit("The SVG defines entities of its own. Save it again as plain SVG.")
    try:
        return Tree.fromstring(text)  # noqa: S314 -- it has no entities, and is small
    except (Tree.ParseError, ValueError) as error:
        raise Unfit("The SVG cannot be read; it may be damaged.") from error


def _cleaned(element: Tree.Element, depth: int) -> Tree.Element | None:
    """A copy of what may stay; a link becomes a group."""
    if depth > DEEPEST:
        raise Unfit(f"The drawing is nested more than {DEEPEST} deep. Save it again as plain SVG.")
    space, _, name = element.tag.rpartition("}")
    name = "g" if name in ("a", "switch") else name
    if space not in ("", f"{{{SVG}"):
        return None
    if name in REFUSED:
        raise Unfit(f"The drawing has {REFUSED[name]}.")
    if name not in KEPT:
        return None
    kept = Tree.Element(name, dict(_attributes(element)))
    if name == "style":
        kept.text = _sheet("".join(element.itertext()))
        return kept
    inside = (_cleaned(one, depth + 1) for one in element)
    kept.extend([one for one in inside if one is not None])
    return kept


def _attributes(element: Tree.Element) -> Iterator[tuple[str, str]]:
    for name, value in element.attrib.items():
        if name in HREFS and value.startswith("#"):
            yield "href", value
        elif name == "style":
            yield name, _declarations(value)
        elif name in ATTRIBUTES and _is_local(value):
            yield name, value


def _is_local(value: str) -> bool:
    """Whether it names nothing outside the drawing."""
    rest = _LOCAL.sub("", value).casefold()
    return "url" not in rest and "\\" not in rest and "@" not in rest and "script" not in rest


def _declarations(text: str) -> str:
    pairs = (one.partition(":") for one in text.split(";"))
    return ";".join(
        f"{name.strip()}:{value.strip()}"
        for name, _, value in pairs
        if name.strip() in LOOKS and _is_local(value)
    )


def _sheet(text: str) -> str:
    """Rules of style for classes and elements, their looks alone."""
    rules = _RULE.findall(_NO_RULE.sub("", text))
    return "".join(
        f"{chosen.strip()}{{{_declarations(looks)}}}"
        for chosen, looks in rules
        if "@" not in chosen and "\\" not in chosen
    )


def _sized(root: Tree.Element) -> None:
    """The drawing's own measure told once: a box, and a width and height of the same numbers."""
    box = root.get("viewBox", "").replace(",", " ").split()
    sides = box[2:] if len(box) == len("xywh") else [root.get("width", ""), root.get("height", "")]
    wide, high = (_side(one) for one in sides)
    if max(wide, high) > MOST_RATIO * min(wide, high):
        raise Unfit(f"The drawing is more than {MOST_RATIO} times as long as it is wide.")
    root.set("viewBox", " ".join(box) if len(box) == len("xywh") else f"0 0 {wide:g} {high:g}")
    root.set("width", f"{wide:g}")
    root.set("height", f"{high:g}")


def _side(text: str) -> float:
    found = _NUMBER.fullmatch(text)
    side = float(found[1]) if found else 0.0
    if not 0 < side <= MOST_SIDE:
        raise Unfit(
            "The drawing does not say how large it is. Save it with a viewBox, or with a width "
            "and a height."
        )
    return side


def _refuse_heavy(root: Tree.Element) -> None:
    """What a drawing comes to with all that it refers to: a few lines can ask for billions."""
    known = {one.get("id", ""): one for one in root.iter() if one.get("id")}
    weighed: dict[str, int] = {}
    if _weight(root, known, weighed, ()) > MOST_PARTS:
        raise Unfit("The drawing has more than 20,000 parts. Make it simpler.")


def _weight(
    element: Tree.Element,
    known: dict[str, Tree.Element],
    weighed: dict[str, int],
    above: tuple[str, ...],
) -> int:
    parts = 1 + sum(_weight(one, known, weighed, above) for one in element)
    for name in _referred(element):
        if name in above or len(above) > DEEPEST:
            raise Unfit("The drawing refers to itself. Save it again as plain SVG.")
        if name in known and name not in weighed:
            weighed[name] = _weight(known[name], known, weighed, (*above, name))
        parts += weighed.get(name, 0)
    return parts


def _referred(element: Tree.Element) -> Iterator[str]:
    if "href" in element.attrib:
        yield element.attrib["href"][1:]
    texts = [*element.attrib.values(), *([element.text or ""] if element.tag == "style" else [])]
    for text in texts:
        yield from _LOCAL.findall(text)


is_svg = partial(re.compile(rb"\s*(?:<\?xml|<!--|<!DOCTYPE\s+svg|<svg)").match)
