"""The head of the chain of seals, to be kept outside the book, and whether a book contains it.

Who can write the database can also make the whole chain anew. A head that was printed, mailed or
kept elsewhere before cannot be made anew: a book that no longer contains it was changed.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from workshop.ledger.models import Seal
from workshop.ledger.proof.findings import Finding

SHORT = 16
WRITTEN = re.compile(
    r"(?<![0-9A-Fa-f-])(\d{1,18})(?:-|\s+)"
    r"([0-9A-Fa-f]{64}|[0-9A-Fa-f]{4}(?:-[0-9A-Fa-f]{4}){3})(?![0-9A-Fa-f-])"
)


@dataclass(frozen=True)
class Head:
    """One seal as it is logged: its number and its digest, or the beginning of that."""

    number: int
    digest: str

    @property
    def code(self) -> str:
        """Short enough to be read aloud and typed: 128-9F3C-02AB-77D1-4E60."""
        short = self.digest[:SHORT].upper()
        groups = (short[start : start + 4] for start in range(0, SHORT, 4))
        return "-".join([str(self.number), *groups])

    @property
    def line(self) -> str:
        """The whole of it in one line."""
        return f"seal {self.number} {self.digest}"

    def __str__(self) -> str:
        return self.code


def head() -> Head | None:
    """The last link of the chain; None while nothing is sealed."""
    newest = Seal.objects.order_by("-number").values_list("number", "digest").first()
    return Head(*newest) if newest else None


def heads_in(text: str) -> Iterator[Head]:
    """Every head that a text names, in full or by its code."""
    for number, digest in WRITTEN.findall(text):
        yield Head(int(number), digest.replace("-", "").lower())


def check_against(text: str) -> Finding:
    """Whether the book still contains each head that was written down."""
    kept = list(dict.fromkeys(heads_in(text)))
    finding = Finding("the book contains every head of its chain that was kept", len(kept))
    if not kept:
        finding.add("No head of a chain could be read: give its code, its line, or a file.")
    digests = dict(
        Seal.objects.filter(number__in=[one.number for one in kept]).values_list("number", "digest")
    )
    for one in kept:
        found = digests.get(one.number)
        if found is None:
            finding.add(f"Seal {one} was kept, and the book has no seal {one.number}.")
        elif not found.startswith(one.digest):
            finding.add(f"Seal {one} was kept; seal {one.number} of the book is another.")
    return finding
