"""What a fault changes, read from two copies of a function."""

import ast
import re
from itertools import takewhile
from typing import NamedTuple

SENTENCE = re.compile(r"""[rbf]*(["'])(?:(?!\1).)* (?:(?!\1).)*\1""", re.IGNORECASE)
NOTHING_SAID = re.compile(r"(Error|Refused|Invalid)\((?:None)?\)")


class Change(NamedTuple):
    """The lines of one fault, without their indentation; `now` is empty where lines only go."""

    was: str
    now: str


class Fault(NamedTuple):
    name: str  # as mutmut calls it
    module: str
    line: int
    change: Change


def changed(was: list[str], now: list[str], definition: int) -> tuple[int, Change]:
    """The first changed line, and the change, between two copies of the function defined there."""
    was, now = _from_definition(was), _from_definition(now)
    above = _same(was, now)
    was, now = was[above:], now[above:]
    below = _same(was[::-1], now[::-1])
    change = Change(*(_stripped(lines[: len(lines) - below]) for lines in (was, now)))
    return definition + 1 + above, change


def _same(one: list[str], other: list[str]) -> int:
    pairs = zip(one, other, strict=False)
    return sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], pairs))


def _stripped(lines: list[str]) -> str:
    return "\n".join(line.strip() for line in lines)


def _from_definition(lines: list[str]) -> list[str]:
    """Without what stands above, and without the name, which differs in every copy."""
    start = next(i for i, line in enumerate(lines) if line.lstrip().startswith("def "))
    return lines[start + 1 :]


def definition(source: str, name: str, within: str | None = None) -> int:
    """The line on which a function begins, or a class's method."""
    body: list[ast.stmt] = ast.parse(source).body
    if within:
        body = next(n.body for n in body if isinstance(n, ast.ClassDef) and n.name == within)
    found = (n.lineno for n in body if isinstance(n, ast.FunctionDef) and n.name == name)
    return next(found)


def only_words(change: Change) -> bool:
    """Whether only a sentence for a person is changed: its wording is no fault of this kind."""
    was, now = (SENTENCE.sub("…", text) for text in change)
    return was == now or was.replace("…", "None") == now or bool(NOTHING_SAID.search(now))
