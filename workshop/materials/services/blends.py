"""The parts of a bought blend: a correction changes a set, a change of the blend starts one."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from workshop.core import formatting
from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.saving.with_history import save_with_history
from workshop.ledger.models import Lot
from workshop.materials.models import ALWAYS, NEVER_ORGANIC, BlendPart, Constituency, Profile

# Nobody knows a blend further ahead than this; a day beyond it is a slip.
AHEAD = timedelta(days=366)


@dataclass(frozen=True)
class BlendComponent:
    """One constituent of a bought blend; `share` is percent by weight."""

    inci_name: str
    share: Decimal
    common_name: str = ""
    kind: Constituency = Constituency.PLAIN
    is_organic: bool = False


@dataclass(frozen=True)
class Blend:
    """The parts that a material was bought as between two days, and how many lots came then."""

    from_day: date
    until: date | None
    rows: Sequence[BlendPart]
    lot_count: int = 0

    @property
    def parts(self) -> list[BlendComponent]:
        return [part_of(row) for row in self.rows]

    @property
    def is_from_the_first(self) -> bool:
        return self.from_day == ALWAYS

    def holds_on(self, day: date) -> bool:
        return self.from_day <= day and (self.until is None or day < self.until)


def part_of(row: BlendPart) -> BlendComponent:
    kind = Constituency(row.kind)
    return BlendComponent(row.inci_name, row.share, row.common_name, kind, row.is_organic)


def blends_of(profile: Profile) -> list[Blend]:
    """Every set of parts the material was bought as, the latest first; two queries."""
    sets = sorted(profile.blends().items())
    ends = [*(day for day, _ in sets[1:]), None]
    lots = list(Lot.objects.filter(item=profile.item_id).values_list("made_on", flat=True))
    found = []
    for (day, rows), until in zip(sets, ends, strict=False):
        count = sum(day <= made_on and (until is None or made_on < until) for made_on in lots)
        found.append(Blend(day, until, rows, count))
    return found[::-1]


def latest_parts(profile: Profile) -> list[BlendComponent]:
    """The parts that were entered for the latest day."""
    sets = profile.blends()
    return [part_of(row) for row in sets[max(sets)]] if sets else []


@transaction.atomic
def start_blend(
    profile: Profile, parts: Sequence[BlendComponent], *, from_day: date, by: User, at: datetime
) -> None:
    """Record that the supplier's blend is another from a day on; what came before stays as it is.

    Raises ActionRefused, with the field at fault: a day that is not after the latest set, or the
    same parts again.
    """
    profile = Profile.objects.select_for_update().get(pk=profile.pk)
    latest = max(profile.blends(), default=None)
    if not parts:
        raise ActionRefused(
            "Give the parts that hold from that day. If it is one ingredient from then on, give "
            "it as one part of 100 %.",
            field="parts",
        )
    _validate_day(from_day, timezone.localdate(at))
    if latest is not None and from_day <= latest:
        raise ActionRefused(
            f"There are parts from {formatting.day(latest)} already. Give a later day, or correct "
            "those parts.",
            field="from_day",
        )
    if set(parts) == set(latest_parts(profile)):
        raise ActionRefused("These are the parts that hold already.", field="parts")
    keep_parts(profile, parts, from_day=from_day, by=by, at=at)


@transaction.atomic
def correct_blend(
    profile: Profile,
    was_from: date,
    parts: Sequence[BlendComponent],
    *,
    from_day: date | None,
    by: User,
    at: datetime,
) -> None:
    """Mend a mistake in a set: its parts, or the day from which they hold (None: the first lot).

    Without parts the set is taken away, and the one before it holds on. Raises ActionRefused, with
    the field at fault, when the day would pass the set before or after.
    """
    profile = Profile.objects.select_for_update().get(pk=profile.pk)
    days = sorted(profile.blends())
    before, after = _neighbours(days, was_from)
    new_day = from_day or ALWAYS
    if from_day is not None and from_day != was_from:
        _validate_day(from_day, timezone.localdate(at))
    if before is not None and new_day <= before:
        raise ActionRefused(
            f"The parts before these hold from {_from(before)}: give a day after it.",
            field="from_day",
        )
    if after is not None and new_day >= after:
        raise ActionRefused(
            f"The next parts hold from {formatting.day(after)}: give a day before it.",
            field="from_day",
        )
    keep_parts(profile, parts, from_day=new_day, was_from=was_from, by=by, at=at)


def _neighbours(days: Sequence[date], day: date) -> tuple[date | None, date | None]:
    before = max((one for one in days if one < day), default=None)
    return before, min((one for one in days if one > day), default=None)


def _from(day: date) -> str:
    return "the first lot" if day == ALWAYS else formatting.day(day)


def _validate_day(day: date, today: date) -> None:
    if not ALWAYS < day <= today + AHEAD:
        raise ActionRefused(
            f"{formatting.day(day)} cannot be right. Give the day of the first delivery of these"
            " parts.",
            field="from_day",
        )


def keep_parts(
    profile: Profile,
    parts: Sequence[BlendComponent],
    *,
    by: User,
    at: datetime,
    from_day: date = ALWAYS,
    was_from: date | None = None,
) -> None:
    """Make one set these parts, leaving those alone that stay as they are."""
    _validate_parts(parts)
    rows = profile.parts.filter(from_day=was_from or from_day)
    kept = {(row.inci_name, row.is_organic): row for row in rows}
    for part in parts:
        known = kept.pop((part.inci_name, part.is_organic), None)
        row = known or BlendPart(profile=profile)
        if known is None or (part_of(known), known.from_day) != (part, from_day):
            row.inci_name, row.is_organic, row.from_day = part.inci_name, part.is_organic, from_day
            row.common_name, row.kind, row.share = part.common_name, part.kind, part.share
            save_with_history(row, by=by, at=at)
    for row in kept.values():
        row._history_user = by  # type: ignore[attr-defined]  # read by simple_history
        row._history_date = at  # type: ignore[attr-defined]  # likewise
        row.delete()


def _validate_parts(parts: Sequence[BlendComponent]) -> None:
    total = sum((part.share for part in parts), Decimal(0))
    if parts and total != 100:
        raise ActionRefused(
            f"The parts of the blend add up to {formatting.number(total, most=4)} %;"
            " they must add up to exactly 100 %.",
            field="parts",
        )
    names = [(part.inci_name.casefold(), part.is_organic) for part in parts]
    if len(names) != len(set(names)):
        raise ActionRefused(
            "The blend names the same part twice; add them together.", field="parts"
        )
    for part in parts:
        if part.is_organic and part.kind in NEVER_ORGANIC:
            raise ActionRefused(
                f"{part.inci_name}: water, salt and alkali cannot be organic.", field="parts"
            )
