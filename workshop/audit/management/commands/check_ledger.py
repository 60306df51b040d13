"""Prove the whole book."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from workshop.audit.proof import CHECKS
from workshop.core.progress import progress
from workshop.ledger.checks import Finding


class Command(BaseCommand):
    help = "Prove signs, sums, reversals, origins, the family tree, statuses, seals, fill weights."

    def handle(self, *args: Any, **options: Any) -> None:
        findings = [self.tell(check()) for check in progress(CHECKS, len(CHECKS))]
        wrong = sum(len(finding.problems) + finding.more for finding in findings)
        if wrong:
            raise CommandError(f"{wrong} finding{'s' if wrong != 1 else ''}.")
        self.stdout.write(self.style.SUCCESS("No finding: the book is sound."))

    def tell(self, finding: Finding) -> Finding:
        verdict = "sound" if finding.is_sound else "NOT SOUND"
        self.stdout.write(f"{finding.looked_at:>10,}  {finding.check}: {verdict}")
        for problem in finding.problems:
            self.stdout.write(f"            {problem}")
        if finding.more:
            self.stdout.write(f"            … and {finding.more} more.")
        return finding
