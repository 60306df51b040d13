"""What the weigh-up screen shows: every line, its lots, what is in, and what comes next."""

from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal

from workshop.core import formatting
from workshop.core.errors import ActionRefused
from workshop.formulas.models import Step
from workshop.kettle.equipment.scale_suitability import Advice, advice
from workshop.kettle.models import Batch, BatchLine, Scale, Timer, Weighing
from workshop.kettle.weighing.lot_selection import Proposal, allowed_items, proposals, refusal
from workshop.kettle.weighing.safety_cautions import cautions_of, danger_of
from workshop.kettle.weighing.weighed_superfat import soap_to_be
from workshop.ledger.models import Lot
from workshop.ledger.reserved_lots import Kept, kept_for
from workshop.ledger.stock_queries import with_place
from workshop.materials.models import profile_of
from workshop.materials.saponification import Soap, is_lye
from workshop.rules.codes.gs1 import gtin_and_lot
from workshop.rules.codes.lot_codes import near_misses, normalise_code
from workshop.rules.quantities.scaling import MILLIGRAM_G
from workshop.rules.quantities.units import ceil_to, floor_to

# The drawing of the tolerance band: 640 wide, the band itself a third of it.
MIDDLE, HALF_BAND, EDGE = 320, 107, 8


@dataclass(frozen=True)
class ScreenLine:
    """One line as the maker meets it."""

    line: BatchLine
    proposal: Proposal
    advice: Advice | None
    scale: Scale
    cautions: list[str]
    superfat: list[str] = field(default_factory=list)
    kept: str = ""

    @property
    def to_mind(self) -> list[tuple[str, str]]:
        """What stands beside the line, each with the pictogram of its danger: at the lye its
        superfat first, then the cautions; last, that the lot is kept for another batch."""
        cautions = [(danger_of(one), one) for one in self.cautions]
        kept = [("care", self.kept)] if self.kept else []
        return [*(("", one) for one in self.superfat), *cautions, *kept]

    @property
    def band(self) -> str:
        return f"±{formatting.number(self.line.tolerance, most=4)}\u202f%"

    @property
    def for_good(self) -> str:
        return "It cannot be removed once added." if self.line.is_irreversible else ""

    @property
    def none(self) -> str:
        """What is said in place of a lot where there is none."""
        return (
            f"No lot of {self.line.item} is on the book that may be used. Scan one, or ask the "
            "owner to release it."
        )

    @property
    def lot(self) -> Lot | None:
        """The lot to take first: the one that expires first, else any that may stand in."""
        picked = [pick.lot for pick in self.proposal.picks] + self.proposal.choices
        return picked[0] if picked else None

    @property
    def low_g(self) -> Decimal:
        """The least within the tolerance that the scale can show."""
        return ceil_to(self.line.low_g, self.scale.division_g)

    @property
    def high_g(self) -> Decimal:
        return floor_to(self.line.high_g, self.scale.division_g)


@dataclass(frozen=True)
class Screen:
    batch: Batch
    lines: list[ScreenLine]
    scales: list[Scale]
    last: Weighing | None
    timers: list[Timer]
    soap: Soap | None = None

    @property
    def taken_g(self) -> Decimal:
        return sum((row.line.taken_g for row in self.lines), Decimal(0))

    @property
    def aim_g(self) -> Decimal:
        """What the planned lines are to come to, all changes of targets counted."""
        return sum((row.line.aim_g for row in self.lines if row.line.is_planned), Decimal(0))

    def next(self) -> ScreenLine | None:
        """The first planned line that is not in yet."""
        return next((row for row in self.lines if not row.line.is_done), None)

    def line(self, pk: str | int | None) -> ScreenLine | None:
        """The line asked for, if the batch plans it."""
        return next(
            (row for row in self.lines if str(row.line.pk) == str(pk) and row.line.is_planned),
            None,
        )


def screen_of(batch: Batch, *, on: date) -> Screen:
    """Read all that the screen needs, also to go on without the network."""
    scales = list(Scale.objects.filter(is_active=True))
    steps = list(batch.version.steps.all())
    last = Weighing.objects.effective().with_names().filter(line__batch=batch).last()
    rows = [_line(batch, proposal, scales, steps) for proposal in proposals(batch, on=on)]
    lines = [row.line for row in rows]
    soap = soap_to_be(batch, lines) if any(map(_is_at_the_lye, rows)) else None
    rows = _with_kept(_with_superfat(rows, soap), batch)
    return Screen(batch, rows, scales, last, list(batch.timers.running()), soap)


def _line(batch: Batch, proposal: Proposal, scales: list[Scale], steps: list[Step]) -> ScreenLine:
    line = proposal.line
    hint = advice(line, batch.scale, scales) if line.is_planned else None
    return ScreenLine(
        line=line,
        proposal=proposal,
        advice=hint,
        scale=hint.better if hint and hint.better else batch.scale,
        cautions=cautions_of(line, steps),
    )


def _with_superfat(rows: list[ScreenLine], soap: Soap | None) -> list[ScreenLine]:
    """The superfat that all will come to stands at the lye."""
    if soap is None:
        return rows
    return [replace(row, superfat=soap.in_short()) if _is_at_the_lye(row) else row for row in rows]


def _with_kept(rows: list[ScreenLine], batch: Batch) -> list[ScreenLine]:
    """At each lot what of it is kept for another batch, and a word where too little is left then.

    Nobody is stopped: who weighs may know better.
    """
    lots = {lot.pk: lot for row in rows for lot in row.proposal.choices}
    found = kept_for(list(lots), but_for=batch.operation.reference)
    return [replace(row, kept=_warned(row, found)) for row in rows] if found else rows


def _warned(row: ScreenLine, found: dict[int, list[Kept]]) -> str:
    for one in row.proposal.choices:
        one.kept_words = _kept_words(found.get(one.pk, []))
    lot, need = row.lot, row.line.to_go_g
    if lot is None or not lot.kept_words or need <= 0:
        return ""
    free = lot.on_hand - sum((kept.quantity for kept in found[lot.pk]), Decimal(0))
    if free >= need:
        return ""
    return f"Lot {lot}: {lot.kept_words}. Take another lot if there is one, or tell the owner."


def _kept_words(kept: list[Kept]) -> str:
    """Such as: 1 250.0 g kept for K-2611-22."""
    return ", ".join(
        f"{formatting.with_unit(one.quantity, 'g')} kept for {one.reference}" for one in kept
    )


def with_kept_words(lot: Lot, batch: Batch) -> Lot:
    """A lot that was scanned, with what of it is kept for another batch."""
    found = kept_for([lot.pk], but_for=batch.operation.reference)
    lot.kept_words = _kept_words(found.get(lot.pk, []))
    return lot


def _is_at_the_lye(row: ScreenLine) -> bool:
    profile = profile_of(row.line.item)
    return profile is not None and is_lye(profile)


def lot_by_code(text: str) -> Lot:
    """The lot that a scanned or typed code names; a misread one is answered with what is near."""
    code = _code_in(text)
    lots = with_place(Lot.objects.with_on_hand().select_related("item__profile"))
    lot: Lot | None = lots.filter(code=code).first()
    if lot is None:
        near = [f"{one} ({one.item})" for one in lots.filter(code__in=near_misses(code))[:3]]
        way_on = f"Did you mean {' or '.join(near)}?" if near else "Scan or type the tag again."
        raise ActionRefused(f"No lot has the code “{text.strip()[:40]}”. {way_on}", field="lot")
    return lot


def _code_in(text: str) -> str:
    """The code itself, also out of a GS1 symbol that carries the lot with a trade item number."""
    scanned = gtin_and_lot(text)
    return normalise_code(scanned[1] if scanned and scanned[1] else text)


def lot_named(text: str) -> Lot:
    """The same without what it holds: a reading must not wait for sums."""
    lots = Lot.objects.select_related("item", "origin")
    try:
        return lots.get(code=_code_in(text))
    except Lot.DoesNotExist:
        return lot_by_code(text)


def line_for(screen: Screen, lot: Lot, *, on: date, first: ScreenLine | None = None) -> ScreenLine:
    """The line that takes this lot, the one at hand before others.

    ActionRefused if there is none.
    """
    rows = sorted(screen.lines, key=lambda row: (row is not first, row.line.is_done))
    fitting = [
        row for row in rows if row.line.is_planned and lot.item_id in allowed_items(row.line)
    ]
    if not fitting:
        raise ActionRefused(
            f"Lot {lot} is {lot.item}, which this batch does not call for. Choose another lot, "
            "or add it as something unplanned.",
            field="lot",
        )
    fitting[0].line.batch = screen.batch
    sentence = refusal(fitting[0].line, lot, on=on)
    if sentence:
        raise ActionRefused(sentence, field="lot")
    return fitting[0]


def pointer(line: BatchLine) -> int | None:
    """Where the pointer stands on the drawing, to scale; None before anything is in."""
    if not line.taken_g:
        return None
    over_g = line.taken_g - line.aim_g
    half_g = line.high_g - line.aim_g if over_g > 0 else line.aim_g - line.low_g
    off: int = round(over_g / (half_g or MILLIGRAM_G) * HALF_BAND)
    return min(max(MIDDLE + off, EDGE), 2 * MIDDLE - EDGE)


def said(weighing: Weighing) -> str:
    """One reading in words: grams, item, lot."""
    posting = weighing.posting
    return f"{formatting.with_unit(posting.moved, 'g')} {posting.lot.item} from lot {posting.lot}"


def standing_said(line: BatchLine) -> str:
    """How a planned line stands, read `with_taken`: what is to go, or how far it is off."""
    if line.taken_g < line.low_g:
        return f"{formatting.with_unit(line.to_go_g, 'g')} to go."
    if line.taken_g > line.high_g:
        return f"{formatting.with_unit(-line.to_go_g, 'g')} over, outside the tolerance."
    return "Within tolerance."


def below_zero_said(lot: Lot, held: Decimal) -> str:
    """A word beside a reading that took more of a lot than the book has."""
    if held >= 0:
        return ""
    return f" The book now says {formatting.with_unit(held, 'g')} for lot {lot}: count it."
