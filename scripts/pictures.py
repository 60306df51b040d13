"""Draws what the papers show of the code: the rooms, the ledger's tables, the flow of goods.

Run by `make pictures`; tests/setup/test_pictures.py fails when a picture is older than the code.
"""

import ast
import os
import re
import sys
from itertools import pairwise
from pathlib import Path
from typing import Any

import django
from django.apps import apps
from django.conf import settings

PROJECT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(PROJECT))

from scripts.svg import Box, arrow, dot, rule, svg, words  # noqa: E402  no installed package
from workshop.core.database.triggers import registry  # noqa: E402

PAPER = "DEVELOPERS.md"
TABLE = re.compile(
    r"(?<=<!-- rooms: by make pictures -->\n).*?(?=<!-- end of rooms -->)", re.DOTALL
)
# Where each table of the ledger stands in its picture: column, and how far down.
EIGHT = {
    "Item": (0, 0),
    "StatusChange": (0, 1),
    "Lot": (1, 0),
    "Posting": (1, 1),
    "Operation": (2, 0),
    "Amendment": (3, 0),
    "Seal": (3, 1),
    "Shed": (2, 1),
}
COLUMN, WIDTH, TOP, LOWER = 268, 220, 16, 230
STOP, STEP = 176, 204


# ---- rooms ---------------------------------------------------------------------------------------


def rooms() -> list[str]:
    """Every room, in the order in which they may look at each other."""
    named = [app.removeprefix("workshop.") for app in settings.INSTALLED_APPS]
    listed = [name for name in named if (PROJECT / "workshop" / name).is_dir()]
    return ["rules", *(room for room in listed if room != "demo"), "demo"]


def looks_at(room: str) -> set[str]:
    """The other rooms that a room imports from."""
    found: set[str] = set()
    for path in (PROJECT / "workshop" / room).rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.module:
                names = [f"{node.module}.{alias.name}" for alias in node.names]
                found |= {name.split(".")[1] for name in names if name.startswith("workshop.")}
    return (found & set(rooms())) - {room}


def what_it_holds(room: str) -> str:
    """The first paragraph that a room says of itself."""
    source = (PROJECT / "workshop" / room / "__init__.py").read_text("utf-8")
    said = ast.get_docstring(ast.parse(source)) or ""
    return " ".join(said.split("\n\n")[0].split())


def table_of_rooms() -> str:
    rows = (f"| `{room}` | {what_it_holds(room)} |\n" for room in rooms())
    return "".join(["\n| room | holds |\n|---|---|\n", *rows, "\n"])


def picture_of_rooms() -> str:
    """A row for each room, and a dot below each room that it looks at."""
    step, left, top = 24, 110, 104
    names = rooms()
    end = left + step * len(names)
    parts = []
    for place, room in enumerate(names):
        y, x = top + place * step, left + place * step
        parts += [rule(16, y + step // 2, end, y + step // 2), words(16, y, room, bold=True)]
        parts.append(_upright(x, top - 18, room))
        others = looks_at(room)
        parts += [dot(left + names.index(other) * step, y) for other in names if other in others]
    return svg(end + 16, top + step * len(names), parts)


def _upright(x: int, y: int, text: str) -> str:
    return f'<text transform="translate({x + 4} {y}) rotate(-60)">{text}</text>\n'


# ---- the ledger ----------------------------------------------------------------------------------


def picture_of_ledger() -> str:
    """The eight tables, each with its columns, and an arrow for each key to another of them."""
    boxes = {name: _table(name) for name in EIGHT}
    parts = [box.drawn() for box in boxes.values()]
    for name in EIGHT:
        for place, field in enumerate(_fields(name)):
            target = field.related_model.__name__ if field.is_relation else ""
            if target in boxes:
                parts.append(_key(boxes[name], place, boxes[target]))
    below = max(box.bottom for box in boxes.values())
    told = (
        "Shaded darker: rows are only ever added; the database refuses every other change. "
        "A question mark: may be empty."
    )
    parts.append(words(16, below + 24, told))
    return svg(16 + COLUMN * 4 - 32, below + 44, parts)


def _fields(name: str) -> list[Any]:
    return list(apps.get_model("ledger", name)._meta.concrete_fields)


def _table(name: str) -> Box:
    model = apps.get_model("ledger", name)
    column, row = EIGHT[name]
    only_added = f"{model._meta.db_table}_no_update" in {guard.name for guard in registry()}
    fill = "#dcc9a0" if only_added else "#f1ead9"
    lines = tuple(_column(field) for field in _fields(name))
    return Box(16 + column * COLUMN, TOP + row * LOWER, WIDTH, name, lines, fill)


def _column(field: Any) -> str:
    kind = type(field).__name__.removesuffix("Field")
    if field.is_relation:
        kind = f"→ {field.related_model.__name__}"
    empty = "?" if field.null else ""
    unique = ", unique" if field.unique and not field.primary_key else ""
    return f"{field.name}: {kind}{empty}{unique}"


def _key(box: Box, place: int, other: Box) -> str:
    y, to = box.line_y(place), other.line_y(-1)
    if other.x < box.x:
        return arrow(
            (box.x, y), (box.x - 30, y), (other.right + 30, to), (other.right, to), curved=True
        )
    out = box.right + 30
    end = other.x if other.x > box.x else other.right
    back = end - 30 if other.x > box.x else out
    return arrow((box.right, y), (out, y), (back, to), (end, to), curved=True)


# ---- the flow of goods ---------------------------------------------------------------------------


def picture_of_goods() -> str:
    """From the supplier to the customer, with the kinds of operation and of items as named."""
    acts, kinds, status = (
        _choices("Operation", "kind"),
        _choices("Item", "kind"),
        _choices("Lot", "status"),
    )
    checked = f"{status['quarantine']}, then {status['released']}"
    top = [
        ("Supplier", "delivery, certificate"),
        (acts["receipt"], "counted, looked at"),
        (f"{kinds['material']}, {kinds['packaging']}", checked),
        (acts["batch"], "weighed, checked, poured"),
        (f"lot of {kinds['bulk']}", "released by the owner"),
    ]
    low = [
        ("Customer", "told of a recall"),
        (acts["dispatch"], "under a reference"),
        (f"lot of {kinds['product']}", "labelled from its weights"),
        (acts["packing"], "tins filled and counted"),
    ]
    upper = [_stop(place, 16, *text) for place, text in enumerate(top)]
    lower = [_stop(place, 120, *text) for place, text in enumerate(low)]
    bulk, run, finished, customer = upper[-1], lower[3], lower[2], lower[0]
    parts = [box.drawn() for box in (*upper, *lower)]
    parts += [_to_the_right(one, two) for one, two in pairwise(upper)]
    parts += [_to_the_left(two, one) for one, two in pairwise(lower)]
    parts.append(arrow((bulk.middle, bulk.bottom), (bulk.middle, 145), (run.right, 145)))
    parts.append(arrow((upper[2].middle + 40, upper[2].bottom), (run.x + 20, run.y)))
    below = customer.bottom + 26
    parts.append(
        arrow(
            (customer.middle, customer.bottom),
            (customer.middle, below),
            (finished.middle, below),
            (finished.middle, finished.bottom),
        )
    )
    parts.append(words(lower[1].middle, below - 8, acts["return"], anchor="middle"))
    parts.append(
        words(
            16,
            below + 28,
            f"Any lot may also change by a {acts['count']} or a {acts['discard']}. "
            "The trace follows the arrows both ways.",
        )
    )
    return svg(16 + 5 * STEP, below + 48, parts)


def _choices(model: str, field: str) -> dict[str, str]:
    found = apps.get_model("ledger", model)._meta.get_field(field).flatchoices
    return {str(key): str(word) for key, word in found}


def _stop(place: int, y: int, heading: str, line: str) -> Box:
    return Box(16 + place * STEP, y, STOP, heading, (line,))


def _to_the_right(one: Box, two: Box) -> str:
    return arrow((one.right, one.y + 25), (two.x, two.y + 25))


def _to_the_left(one: Box, two: Box) -> str:
    return arrow((one.x, one.y + 25), (two.right, two.y + 25))


# ---- all of them ---------------------------------------------------------------------------------


def papers() -> dict[Path, str]:
    """Every file that this command writes, as it should be."""
    paper = PROJECT / PAPER
    return {
        PROJECT / "docs" / "rooms.svg": picture_of_rooms(),
        PROJECT / "docs" / "ledger.svg": picture_of_ledger(),
        PROJECT / "docs" / "goods.svg": picture_of_goods(),
        paper: TABLE.sub(lambda _: table_of_rooms(), paper.read_text("utf-8")),
    }


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")
    django.setup()
    for path, text in papers().items():
        path.write_text(text, encoding="utf-8")
        print(path.relative_to(PROJECT))


if __name__ == "__main__":
    main()
