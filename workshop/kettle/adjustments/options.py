"""A melt that left its formula: what can be done about it, each way with its figures."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from fractions import Fraction

from workshop.core.errors import ActionRefused
from workshop.core.formatting import number, with_unit
from workshop.kettle.adjustments.impact import Effects, effects_of
from workshop.kettle.adjustments.kettle_contents import KettleContents
from workshop.kettle.models import BatchLine, TargetChangeKind
from workshop.rules.errors import RuleError
from workshop.rules.kettle.rebalance import (
    KettleLine,
    full_restoration,
    out_of_tolerance,
    share_to_keep,
    shares_with,
    weighable_addition,
)
from workshop.rules.quantities.scaling import MILLIGRAM_G
from workshop.rules.quantities.units import ceil_to, round_to

HEADINGS = {
    TargetChangeKind.ACCEPT: "Accept it as it is",
    TargetChangeKind.REBALANCE: (
        "Rebalance: bring every share within its tolerance, with room to weigh"
    ),
    TargetChangeKind.RESTORE: "Restore the formula, as near as the scale shows",
    TargetChangeKind.SPLIT: "Split part of the melt off, and rebalance the rest",
}

TENTH = Decimal("0.1")
# A target at the very edge of a tolerance leaves nothing below it for the hand that weighs.
EASE = Fraction(1, 2)
WORDS = {
    TargetChangeKind.ACCEPT: "as it is",
    TargetChangeKind.REBALANCE: "rebalance",
    TargetChangeKind.RESTORE: "restore",
    TargetChangeKind.SPLIT: "split",
}


@dataclass(frozen=True)
class LineCorrection:
    """One line in one way of mending."""

    line: BatchLine
    kept_g: Decimal
    add_g: Decimal
    share_percent: Decimal
    is_within: bool

    @property
    def aim_g(self) -> Decimal:
        return self.kept_g + self.add_g

    @property
    def share_shown(self) -> str:
        return number(self.share_percent, least=2, most=2)


@dataclass(frozen=True)
class CorrectionOption:
    """One way of mending: what it adds, what comes of it, or why it is no way."""

    kind: TargetChangeKind
    parts: list[LineCorrection] = field(default_factory=list)
    sentences: list[str] = field(default_factory=list)
    poured_off_g: Decimal = Decimal(0)
    refusal: str = ""

    @property
    def word(self) -> str:
        return WORDS[self.kind]

    @property
    def heading(self) -> str:
        return HEADINGS[self.kind]

    @property
    def lead(self) -> str:
        """What the way comes to in grams."""
        total = f"{with_unit(round_to(self.total_g, TENTH), 'g')} in the end."
        if self.kind == TargetChangeKind.ACCEPT:
            return f"Weigh what is still to come as planned: {total}"
        first = f"Add {with_unit(self.added_g, 'g')}: {total}"
        if self.kind == TargetChangeKind.SPLIT:
            off = with_unit(self.poured_off_g, "g")
            return f"Stir well, pour off at least {off} into a lot of its own, for rework. {first}"
        return first

    @property
    def shows_added(self) -> bool:
        """What is still to come as planned is no addition."""
        return self.kind != TargetChangeKind.ACCEPT and self.added_g > 0

    @property
    def added_g(self) -> Decimal:
        return sum((part.add_g for part in self.parts), Decimal(0))

    @property
    def total_g(self) -> Decimal:
        return sum((part.aim_g for part in self.parts), Decimal(0))


def options(melt: KettleContents) -> list[CorrectionOption]:
    """Every way of mending a melt, the one that changes least first."""
    try:
        effects: Effects | None = effects_of(melt.batch, [*melt.rows, *melt.apart])
        unknown = ""
    except ActionRefused as error:
        effects, unknown = None, error.message
    found = [accepted(melt), rebalanced(melt), restored(melt), split(melt)]
    return [way if way.refusal else _with_effect(melt, way, effects, unknown) for way in found]


def _with_effect(
    melt: KettleContents, way: CorrectionOption, effects: Effects | None, unknown: str
) -> CorrectionOption:
    weights = melt.with_apart({part.line.pk: part.aim_g for part in way.parts})
    told = effects.told(melt.meant(), weights) if effects else [unknown]
    return replace(way, sentences=[*way.sentences, *told])


def accepted(melt: KettleContents) -> CorrectionOption:
    """Leave what is in, and weigh what is still to come as it was planned."""
    to_come = [Decimal(0) if row.line.is_done else row.line.to_go_g for row in melt.rows]
    return _way(melt, TargetChangeKind.ACCEPT, melt.lines, to_come)


def rebalanced(melt: KettleContents) -> CorrectionOption:
    return _worked_out(melt, TargetChangeKind.REBALANCE)


def restored(melt: KettleContents) -> CorrectionOption:
    return _worked_out(melt, TargetChangeKind.RESTORE)


def _worked_out(melt: KettleContents, kind: TargetChangeKind) -> CorrectionOption:
    try:
        _refuse_strangers(melt)
        if kind == TargetChangeKind.RESTORE:
            additions = _exactly(melt.lines, melt.room_g)
        else:
            additions = _with_room_to_weigh(melt.lines, melt.room_g)
    except RuleError as error:
        return CorrectionOption(kind, refusal=str(error))
    return _way(melt, kind, melt.lines, additions)


def _with_room_to_weigh(lines: Sequence[KettleLine], room_g: Decimal) -> list[Decimal]:
    """The least that leaves half of every tolerance to the weighing, or else the least of all."""
    try:
        return weighable_addition(_eased(lines), room_g)
    except RuleError:
        return weighable_addition(lines, room_g)


def _eased(lines: Sequence[KettleLine]) -> list[KettleLine]:
    return [replace(line, tolerance=Fraction(line.tolerance) * EASE) for line in lines]


def _exactly(lines: Sequence[KettleLine], room_g: Decimal) -> list[Decimal]:
    """The full restoration, each addition at what its scale can show."""
    exact = full_restoration(lines, room_g)
    return [round_to(g, line.division_g) for g, line in zip(exact, lines, strict=True)]


def _refuse_strangers(melt: KettleContents) -> None:
    """What the formula does not know, no addition can restore."""
    own = melt.batch.version.formula.item_id
    for row in melt.apart:
        if row.line.item_id != own:
            raise RuleError(
                f"{row.line.item} is in the kettle and not in the formula, so no addition can "
                "restore the formula. Accept the batch as it is, or stop it."
            )


def split(melt: KettleContents, poured_off_g: Decimal | None = None) -> CorrectionOption:
    """Pour part of the melt off, so that what stays can be rebalanced to the planned weight.

    Without a figure, it is the least to pour off; a measured one is taken as it is.
    """
    try:
        _refuse_strangers(melt)
        keep = _share_kept(melt, poured_off_g)
        if keep == 1:
            raise RuleError("Nothing need be split off: rebalancing fits the kettle as it is.")
        kept = kept_lines(melt.lines, keep)
        room = melt.batch.kettle.capacity_g - round_to(Fraction(melt.apart_g) * keep, MILLIGRAM_G)
        additions = _with_room_to_weigh(kept, room)
    except RuleError as error:
        return CorrectionOption(TargetChangeKind.SPLIT, refusal=str(error))
    off = round_to(Fraction(melt.taken_g) * (1 - keep), MILLIGRAM_G)
    return replace(_way(melt, TargetChangeKind.SPLIT, kept, additions), poured_off_g=off)


def _share_kept(melt: KettleContents, poured_off_g: Decimal | None) -> Fraction:
    if poured_off_g is None:
        whole = min(melt.batch.target_g, melt.room_g)
        least = Fraction(melt.taken_g) * (1 - share_to_keep(_eased(melt.lines), whole))
        poured_off_g = ceil_to(least, melt.batch.scale.division_g)
    if not 0 <= poured_off_g < melt.taken_g:
        raise RuleError(
            f"There are {with_unit(melt.taken_g, 'g')} in the kettle: pour off less than that."
        )
    return 1 - Fraction(poured_off_g) / Fraction(melt.taken_g)


def kept_lines(lines: Sequence[KettleLine], keep: Fraction) -> list[KettleLine]:
    """What stays of a well-mixed melt, in whole milligrams."""
    return [
        replace(line, in_kettle_g=round_to(line.weight_g * keep, MILLIGRAM_G)) for line in lines
    ]


def _way(
    melt: KettleContents,
    kind: TargetChangeKind,
    lines: Sequence[KettleLine],
    additions: Sequence[Decimal],
) -> CorrectionOption:
    shares = shares_with(lines, additions)
    outside = out_of_tolerance(lines, additions)
    parts = [
        LineCorrection(
            line=row.line,
            kept_g=round_to(line.weight_g, MILLIGRAM_G),
            add_g=add,
            share_percent=round_to(100 * share, Decimal("0.01")),
            is_within=line.name not in outside,
        )
        for row, line, add, share in zip(melt.rows, lines, additions, shares, strict=True)
    ]
    sentences = [_outside(outside)] if outside else []
    return CorrectionOption(kind, parts, sentences)


def _outside(names: Sequence[str]) -> str:
    return f"The share of {', '.join(names)} is then outside its tolerance."


def offer_sentence(melt: KettleContents) -> str:
    """What the weigh-up says the moment a reading leaves the band; empty while all is well."""
    if not melt.over:
        return ""
    too_much = " and ".join(
        f"{with_unit(-line.to_go_g, 'g')} too much {line.item}" for line in melt.over
    )
    way, apart = rebalanced(melt), split(melt)
    choices = ["Accept it as it is"]
    if not way.refusal:
        more = way.total_g - sum((row.line.aim_g for row in melt.rows), Decimal(0))
        choices.append(f"rebalance ({with_unit(max(more, Decimal(0)), 'g')} more than planned)")
    if not apart.refusal:
        choices.append(f"split off {with_unit(apart.poured_off_g, 'g')}")
    ending = ", or ".join([", ".join(choices[:-1]), choices[-1]]) if choices[1:] else choices[0]
    slip = "Typed wrong? Undo last. If not: a" if melt.slip else "A"
    return f"{too_much}. {slip}{ending[1:]}."
