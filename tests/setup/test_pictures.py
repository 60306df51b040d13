"""The pictures in the papers show the code as it is, and the papers name what there is."""

import inspect
import re
from pathlib import Path

import pytest
from django.conf import settings
from PIL import Image

from scripts import pictures
from workshop import __version__
from workshop.kettle.weighing import offline_protocol
from workshop.kettle.weighing.forms import ReadingForm

PROJECT = Path(settings.BASE_DIR)
PAPERS = ["README.md", "DEVELOPERS.md", *(f"docs/{p.name}" for p in PROJECT.glob("docs/*.md"))]
FILE = re.compile(r"`((?:[\w.-]+/)+[\w.-]+\.\w+)`")
# In a table that answers by file: a path and, after it, a name that the file must hold.
NAMED = re.compile(r"`((?:[\w.-]+/)+[\w.-]+\.\w+)`: `(\w+)`")
SHOWN = ("today", "weigh-up", "trace")


def text(paper: str) -> str:
    return (PROJECT / paper).read_text("utf-8")


@pytest.mark.parametrize("name", ["docs/rooms.svg", "docs/ledger.svg", "docs/goods.svg"])
def test_picture_says_what_the_code_says(name: str) -> None:
    drawn = pictures.papers()[PROJECT / name]

    assert text(name) == drawn, "say make pictures"


def test_table_of_rooms_says_what_the_rooms_say() -> None:
    written = pictures.papers()[PROJECT / "DEVELOPERS.md"]

    assert text("DEVELOPERS.md") == written, "say make pictures"
    assert all(f"| `{room}` | " in written for room in pictures.rooms())


def test_picture_would_show_a_room_that_looks_the_wrong_way() -> None:
    order = pictures.rooms()

    looked_at = {room: pictures.looks_at(room) for room in order}

    assert looked_at["kettle"] >= {"rules", "core", "ledger"}
    assert {
        (room, other)
        for room in order
        for other in looked_at[room]
        if order.index(other) > order.index(room)
    } == set()


@pytest.mark.parametrize("paper", PAPERS)
def test_papers_name_only_files_that_exist(paper: str) -> None:
    assert [path for path in FILE.findall(text(paper)) if not (PROJECT / path).exists()] == []


@pytest.mark.parametrize("paper", PAPERS)
def test_papers_name_no_module_that_is_nowhere(paper: str) -> None:
    bare = set(re.findall(r"`(\w+\.(?:py|js))`", text(paper)))

    assert {name for name in bare if not any(PROJECT.glob(f"[mstw]*/**/{name}"))} == set()


def test_papers_name_only_what_is_made_in_the_file_they_name() -> None:
    named = [pair for paper in PAPERS for pair in NAMED.findall(text(paper))]

    assert len(named) > 20
    assert [pair for pair in named if not is_made_in(*pair)] == []


def is_made_in(path: str, name: str) -> bool:
    """Not merely used there: a function, a class, a constant, a guard or a column of that name."""
    makes = rf"\b(def|class|function|const) {name}\b|^ *{name}\b[\w\[\], .]*[:=(]|[\"']{name}[\"']"
    return re.search(makes, text(path), re.MULTILINE) is not None


@pytest.mark.parametrize("paper", PAPERS)
def test_links_of_a_paper_lead_somewhere(paper: str) -> None:
    links = re.findall(r"\]\((?!https?:|#)([^)#]+)", text(paper))
    beside = (PROJECT / paper).parent

    assert [link for link in links if not (beside / link).exists()] == []


def test_fields_of_a_reading_are_those_that_the_book_reads() -> None:
    told = (
        text("docs/weigh-up-offline.md").partition("## One reading")[2].partition("## Answers")[0]
    )
    rows = re.findall(r"^\| (`[^|]+) \|", told, re.MULTILINE)

    assert set(re.findall(r"`(\w+)`", " ".join(rows))) == set(ReadingForm.base_fields)


def test_state_of_the_weigh_up_is_told_as_it_is_sent() -> None:
    told = text("docs/weigh-up-offline.md").partition("## The state")[2]
    sent = inspect.getsource(offline_protocol._line_json)
    sent += inspect.getsource(offline_protocol.state_of)

    assert [key for key in re.findall(r'^ +"(\w+)":', sent, re.M) if key not in told] == []


@pytest.mark.parametrize(
    ("heading", "asks"),
    [
        ("A market", r'"(?:EU|US)"|Market\.(?:EU|US)'),
        ("A kind of operation (a movement)", r"OperationKind\.(?:COUNT|DISCARD)|\bDISCARD ="),
    ],
)
def test_list_of_what_adding_takes_names_every_file_that_tells_apart(
    heading: str, asks: str
) -> None:
    told = text("docs/adding.md").partition(f"## {heading}\n")[2].partition("\n## ")[0]
    files = [*PROJECT.glob("workshop/**/*.py"), *PROJECT.glob("templates/**/*.html")]
    ours = [path for path in files if not {"migrations", "demo"} & set(path.parts)]
    found = [path for path in ours if re.search(asks, path.read_text("utf-8"))]

    assert len(found) > 5
    names = {path.relative_to(PROJECT).as_posix() for path in found}
    assert {name for name in names if f"`{name}`" not in told} == set()


@pytest.mark.parametrize("name", SHOWN)
def test_screenshot_is_small_and_shown(name: str) -> None:
    path = PROJECT / "docs" / f"{name}.png"

    with Image.open(path) as seen:
        assert seen.size == (1280, 800)
    assert path.stat().st_size < 120_000
    assert f"docs/{name}.png" in text("README.md")


def test_changes_begin_with_this_version() -> None:
    versions = re.findall(r"^## (\S+)", text("CHANGELOG.md"), re.MULTILINE)

    assert next(one for one in versions if one != "Unreleased") == __version__
    assert text("README.md").count(f"version {__version__}") == 1
