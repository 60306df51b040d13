"""Survivors that are argued away by name, in `accepted_survivors.toml`."""

import tomllib
from pathlib import Path
from typing import NamedTuple

from mutation.faults import Change

PROJECT = Path(__file__).resolve().parent.parent
KEPT = Path(__file__).with_name("accepted_survivors.toml")


class Argued(NamedTuple):
    module: str
    change: Change
    why: str


def argued(text: str | None = None) -> list[Argued]:
    kept = tomllib.loads(KEPT.read_text("utf-8") if text is None else text)
    return [_entry(entry) for entry in kept.get("survivor", [])]


def _entry(entry: dict[str, str]) -> Argued:
    return Argued(entry["module"], Change(entry["was"], entry["now"]), entry["why"])


def stale(entries: list[Argued]) -> list[Argued]:
    """Those whose lines are no longer in the module they name, or that give no reason."""
    return [entry for entry in entries if not (entry.why.strip() and _still_there(entry))]


def _still_there(entry: Argued) -> bool:
    path = PROJECT / entry.module
    if not path.is_file():
        return False
    lines = "\n".join(line.strip() for line in path.read_text("utf-8").split("\n"))
    return f"\n{entry.change.was}\n" in f"\n{lines}\n"
