"""The table at the end, and the survivors nobody has argued away."""

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from mutation.accepted_survivors import Argued
from mutation.faults import Fault

HEAD = f"{'module':<44}{'faults':>8}{'noticed':>9}{'argued':>8}{'open':>6}{'%':>7}"


class Row(NamedTuple):
    module: str
    faults: int
    noticed: int
    argued: int

    @property
    def open(self) -> int:
        return self.faults - self.noticed - self.argued

    @property
    def percent(self) -> str:
        """Of those that a test could notice, rounded down to tenths."""
        counted = self.faults - self.argued
        tenths = self.noticed * 1000 // counted if counted else 1000
        return f"{tenths // 10}.{tenths % 10}"

    def __str__(self) -> str:
        figures = f"{self.faults:>8}{self.noticed:>9}{self.argued:>8}{self.open:>6}"
        return f"{self.module:<44}{figures}{self.percent:>7}"


class Result(NamedTuple):
    noticed: list[Fault]
    argued: list[Fault]
    open: list[Fault]


def sort_out(
    faults: Iterable[Fault], survived: Mapping[str, bool], entries: Iterable[Argued]
) -> Result:
    known = {(entry.module, entry.change) for entry in entries}
    result = Result([], [], [])
    for fault in faults:
        if not survived[fault.name]:
            result.noticed.append(fault)
        elif (fault.module, fault.change) in known:
            result.argued.append(fault)
        else:
            result.open.append(fault)
    return result


def rows(result: Result) -> list[Row]:
    modules = sorted({fault.module for part in result for fault in part})
    return [Row(module, *_counts(result, module)) for module in modules]


def _counts(result: Result, module: str) -> tuple[int, int, int]:
    noticed, argued, still_open = (sum(fault.module == module for fault in part) for part in result)
    return noticed + argued + still_open, noticed, argued


def total(name: str, each: list[Row]) -> Row:
    return Row(
        name,
        sum(row.faults for row in each),
        sum(row.noticed for row in each),
        sum(row.argued for row in each),
    )


def shown(fault: Fault) -> str:
    """A survivor as a person reads it, and as it is written into `accepted_survivors.toml`."""
    was, now = (text.replace("\n", "\n         ") for text in fault.change)
    return f"{fault.module}:{fault.line}\n    was  {was}\n    now  {now or '(gone)'}"
