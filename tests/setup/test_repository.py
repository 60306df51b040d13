"""The repository is complete, pinned, and speaks of nothing but the product."""

import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.conf import settings

PROJECT = Path(settings.BASE_DIR)
# Put together from halves, or this file would find itself.
FOREIGN = [
    "pypi" + ".org",
    "python" + "hosted.org",
    "npmjs" + ".org",
    "debian" + ".org",
    "jsdelivr" + ".net",
    "unpkg" + ".com",
    "/work" + "/",
    "/root" + "/",
    "/home" + "/",
]
PAPERS = [PROJECT / "README.md", PROJECT / "DEVELOPERS.md", *PROJECT.glob("docs/*.md")]
REQUIREMENT = re.compile(r"^[A-Za-z0-9][A-Za-z0-9_.\[\]-]*")


def tracked_files() -> Iterator[Path]:
    """What git keeps, or would on the next commit."""
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=PROJECT,
        capture_output=True,
        check=True,
    )
    paths = (PROJECT / name for name in listed.stdout.decode().split("\0") if name)
    return (path for path in paths if path.is_file())


def requirements(name: str) -> list[str]:
    lines = (PROJECT / name).read_text("utf-8").splitlines()
    return [line for line in lines if REQUIREMENT.match(line)]


def plain(requirement: str) -> str:
    found = REQUIREMENT.match(requirement)
    assert found
    return re.sub(r"\[.*\]", "", found[0]).lower().replace("_", "-")


def test_repository_names_no_registry_and_no_path_of_a_machine() -> None:
    found = {
        f"{path.relative_to(PROJECT)}: {word}"
        for path in tracked_files()
        for word in FOREIGN
        if word.encode() in path.read_bytes()
    }

    assert found == set()


@pytest.mark.parametrize("name", ["requirements", "requirements-dev"])
def test_requirements_are_pinned_and_hashed(name: str) -> None:
    text = (PROJECT / f"{name}.txt").read_text()
    pinned = requirements(f"{name}.txt")

    assert len(pinned) > 10
    assert [line for line in pinned if "==" not in line] == []
    blocks = re.split(r"\n(?=[A-Za-z0-9])", text)
    assert [block for block in blocks if "--hash=sha256:" not in block] == []


@pytest.mark.parametrize("name", ["requirements", "requirements-dev"])
def test_every_requirement_says_why_and_is_pinned(name: str) -> None:
    wanted = requirements(f"{name}.in")
    pinned = {plain(line) for line in requirements(f"{name}.txt")}

    assert [line for line in wanted if "  # " not in line] == []
    assert {plain(line) for line in wanted} - pinned == set()


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md"])
def test_guides_point_at_files_that_exist(name: str) -> None:
    links = re.findall(r"\]\((?!https?:|#)([^)#]+)", (PROJECT / name).read_text("utf-8"))

    assert [link for link in links if not (PROJECT / link).exists()] == []


def test_papers_name_only_commands_that_make_knows() -> None:
    targets = set(re.findall(r"^([a-z-]+):", (PROJECT / "Makefile").read_text(), re.MULTILINE))
    readme = "".join(path.read_text("utf-8") for path in PAPERS)
    named = set(re.findall(r"(?:`|^ *)(?:[A-Z_]+=\S+ )*make ([a-z-]+)", readme, re.MULTILINE))

    assert {"run", "test"} <= named
    assert named - targets == set()


def test_papers_name_only_settings_that_are_read() -> None:
    papers = "".join(path.read_text("utf-8") for path in PAPERS)
    named = set(re.findall(r"TAREBOOK_[A-Z_]+", papers))
    sources = [
        *PROJECT.glob("scripts/*"),
        *PROJECT.glob("deploy/*"),
        *PROJECT.glob("tests/**/*.py"),
    ]
    sources += [PROJECT / "workshop/settings.py", PROJECT / "docker-compose.yml"]
    read = "\n".join(path.read_text("utf-8") for path in sources if path.is_file())

    assert {name for name in named if name not in read} == set()
