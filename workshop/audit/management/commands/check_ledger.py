"""Prove the whole book, or what came since it was last proved; hold it against a kept head."""

from argparse import ArgumentParser
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from workshop import __version__
from workshop.audit.all_checks import CHECKS
from workshop.audit.last_proved import keep_mark, last_mark
from workshop.core.processes import many_hands
from workshop.core.progress import progress
from workshop.ledger.proof.chain_head import Head, check_against
from workshop.ledger.proof.findings import Finding
from workshop.ledger.proof.seals import Mark, check_seals, prove_seals

AGAINST = "say whether the book still contains this head: a code, a line, or a file of them"
SINCE_LAST = "prove only the seals that came since this command last found the book sound"


class Command(BaseCommand):
    help = "Prove signs, sums, origins, the family tree, seals, history and files of the book."
    mark = Mark()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--against", metavar="HEAD", help=AGAINST)
        parser.add_argument("--since-last", action="store_true", help=SINCE_LAST)

    def handle(self, *args: Any, **options: Any) -> None:
        self.stdout.write(f"Tarebook {__version__}")
        findings = [self.tell(finding) for finding in self.found(**options)]
        wrong = sum(len(finding.problems) + finding.more for finding in findings)
        if wrong:
            raise CommandError(f"{wrong} finding{'s' if wrong != 1 else ''}.")
        keep_mark(self.mark)
        self.stdout.write(self.style.SUCCESS("No finding: the book is sound."))
        if self.mark.number:
            head = Head(self.mark.number, self.mark.digest)
            self.stdout.write(f"Its chain ends with {head.code}: {head.line}")

    def found(
        self, *, against: str | None = None, since_last: bool = False, **_: Any
    ) -> Iterator[Finding]:
        since = last_mark() if since_last else Mark()
        if against:
            yield check_against(_text_of(against))
        if since.number:
            yield check_against(Head(since.number, since.digest).line)
        with many_hands() as hands:
            begun = {check: hands.begin(check) for check in CHECKS if check is not check_seals}
            for check in CHECKS:
                if check is check_seals:
                    finding, self.mark = prove_seals(since=since, watch=progress, hands=hands)
                    yield finding
                else:
                    yield begun[check].result()

    def tell(self, finding: Finding) -> Finding:
        verdict = "sound" if finding.is_sound else "NOT SOUND"
        self.stdout.write(f"{finding.looked_at:>10,}  {finding.check}: {verdict}")
        for problem in finding.problems:
            self.stdout.write(f"            {problem}")
        if finding.more:
            self.stdout.write(f"            … and {finding.more} more.")
        return finding


def _text_of(against: str) -> str:
    """What was typed, or what the file of that name says."""
    try:
        return Path(against).read_text(encoding="utf-8")
    except (OSError, ValueError):
        return against
