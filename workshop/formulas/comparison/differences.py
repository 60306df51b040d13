"""What changed from one version to another."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from difflib import SequenceMatcher

from workshop.core.formatting import number
from workshop.formulas.models import Line, Step, Version

NOTHING = "–"
Figures = Mapping[str, str]


@dataclass(frozen=True)
class LineDifference:
    """One figure that is not the same: about which ingredient or step, and what it was and is."""

    about: str
    what: str
    was: str
    now: str


def compare(before: Version, after: Version) -> list[LineDifference]:
    """What differs between two versions, in the order of the later one.

    It reads their lines (with item and substitutes) and steps as they are loaded.
    """
    return [
        *_changes("The version", _of_version(before), _of_version(after)),
        *_changed_lines(before, after),
        *_changed_steps(before, after),
    ]


def _changes(about: str, was: Figures, now: Figures) -> Iterator[LineDifference]:
    for what in dict.fromkeys([*now, *was]):
        old, new = was.get(what, NOTHING), now.get(what, NOTHING)
        if old != new:
            yield LineDifference(about, what, old, new)


def _changed_lines(before: Version, after: Version) -> Iterator[LineDifference]:
    was = {line.item_id: line for line in before.lines.all()}
    now = {line.item_id: line for line in after.lines.all()}
    for item_id, line in {**now, **was}.items():
        old, new = was.get(item_id), now.get(item_id)
        yield from _changes(line.item.name, _of_line(old), _of_line(new))


def _changed_steps(before: Version, after: Version) -> Iterator[LineDifference]:
    was = [_of_step(step) for step in before.steps.all()]
    now = [_of_step(step) for step in after.steps.all()]
    # By their words, so that one new step does not make all that follow it look changed.
    matcher = SequenceMatcher(None, _words(was), _words(now), autojunk=False)
    for _, was_from, was_to, now_from, now_to in matcher.get_opcodes():
        for offset in range(max(was_to - was_from, now_to - now_from)):
            there = was_from + offset < was_to
            here = now_from + offset < now_to
            place = now_from + offset if here else was_from + offset
            yield from _changes(
                f"Step {place + 1}" if here else f"Former step {place + 1}",
                was[was_from + offset] if there else {},
                now[now_from + offset] if here else {},
            )


def _words(steps: list[Figures]) -> list[str]:
    return [step["what to do"] for step in steps]


def _of_version(version: Version) -> Figures:
    return {
        "expected loss, %": number(version.expected_loss, most=4),
        "shelf life, months": str(version.shelf_life_months),
        "cure, days": NOTHING if version.cure_days is None else str(version.cure_days),
        "loss in the cure, %": _figure(version.cure_loss),
        "loss in a week at most, %": _figure(version.weekly_loss_most),
        "pH at least": _figure(version.ph_least),
        "pH at most": _figure(version.ph_most),
        "free alkali at most, %": _figure(version.free_alkali_most),
        "rework at most, %": number(version.rework_limit, most=4),
        "organic claim": _yes(said=version.claims_organic),
        "rinsed off": _yes(said=version.is_rinse_off),
        "note": version.note or NOTHING,
    }


def _of_line(line: Line | None) -> Figures:
    if line is None:
        return {}
    allowed = sorted(item.name for item in line.substitutes.all())
    return {
        "share, %": number(line.share, most=4),
        "place in the order": str(line.order),
        "phase": line.phase,
        "tolerance, %": number(line.tolerance, most=4),
        "cannot be removed once added": _yes(said=line.is_irreversible),
        "strained out again": _yes(said=line.is_strained_out),
        "what stays": line.stays or NOTHING,
        "held back by the marc, %": number(line.held_back, most=4),
        "substitutes": ", ".join(allowed) or NOTHING,
    }


def _of_step(step: Step) -> Figures:
    return {
        "what to do": step.text,
        "phase": step.phase or NOTHING,
        "temperature": step.limits or NOTHING,
        "minutes": str(step.minutes) if step.minutes is not None else NOTHING,
        "keep water out": _yes(said=step.keep_water_out),
        "caution": step.caution or NOTHING,
    }


def _figure(figure: Decimal | None) -> str:
    return NOTHING if figure is None else number(figure, most=4)


def _yes(*, said: bool) -> str:
    return "yes" if said else "no"
