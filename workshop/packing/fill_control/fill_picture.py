"""The fills of the latest runs against their limits, as pictures."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.safestring import SafeString

from workshop.core.web.pictograms import fills
from workshop.packing.fill_control.figures import FillCheck, checks_of
from workshop.packing.fill_control.published_systems import shown_g
from workshop.packing.models import PackingRun


@dataclass(frozen=True)
class RunFills:
    """One run with its fills on a rule."""

    run: PackingRun
    check: FillCheck

    @property
    def words(self) -> str:
        return (
            f"{len(self.check.contents_g)} weighed, average {self.check.mean};"
            f" label {self.check.binding.promised}"
        )

    @property
    def least(self) -> str:
        binding = self.check.binding
        if binding.promised_g is None or binding.shortage_g is None:
            return ""
        return shown_g(binding.promised_g - binding.shortage_g)

    @property
    def picture(self) -> SafeString:
        binding = self.check.binding
        promised, shortage = binding.promised_g or 0, binding.shortage_g or 0
        values = [float(grams) for grams in self.check.contents_g]
        return fills(values, float(promised), float(promised - shortage), self.words)


def fills_of(runs: Iterable[PackingRun]) -> list[RunFills]:
    """Those of these runs of which some packs were weighed and for which limits are known."""
    known = list(runs)
    checks = checks_of(known)
    found = [RunFills(run, checks[run.pk]) for run in known]
    return [one for one in found if one.check.contents_g and one.least]
