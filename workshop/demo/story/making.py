"""At the kettle: a batch is planned, weighed up, checked and poured."""

from dataclasses import dataclass, field
from datetime import timedelta
from decimal import ROUND_FLOOR, Decimal

from django.db import transaction

from workshop.core.models import User
from workshop.demo.story.clock import Clock
from workshop.demo.story.racks import put_on_rack
from workshop.demo.story.story_state import Book
from workshop.demo.tables.recipes import BY_CODE, SOAP
from workshop.formulas.models import Step
from workshop.kettle import services as kettle
from workshop.kettle.models import Batch, BatchLine, CheckKind, Kettle, Scale, Weighing
from workshop.kettle.services.cleaning import record_cleaning
from workshop.kettle.weighing.lot_selection import Proposal
from workshop.ledger.models import Lot
from workshop.rules.quantities.first_expired import LotOnOffer, draw_lots

FINE_UP_TO_G = Decimal(120)
WORTH_TIMING = 10  # minutes


class NotEnoughError(Exception):
    """The stores do not hold what the batch needs."""


@dataclass
class Stove:
    """One maker with one batch at the kettle."""

    book: Book
    clock: Clock
    batch: Batch
    maker: User
    proposals: list[Proposal]
    pour_note: str = ""
    taken_g: Decimal = Decimal(0)
    left: dict[int, Decimal] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for proposal in self.proposals:
            self.left.update((lot.pk, lot.on_hand) for lot in proposal.choices)

    def scale_for(self, grams: Decimal) -> Scale:
        return self.book.fine if grams < FINE_UP_TO_G else self.book.bench

    def record(
        self, proposal: Proposal, lot: Lot, grams: Decimal, *, scale: Scale, note: str = ""
    ) -> Weighing:
        weighing = kettle.record_weighing(
            proposal.line,
            lot,
            grams,
            scale=scale,
            by=self.maker,
            at=self.clock.after(0.6, 2.2),
            token=self.book.token(),
            note=note,
        )
        self.left[lot.pk] -= grams
        self.taken_g += grams
        return weighing

    def draw(self, lots: list[Lot], grams: Decimal, scale: Scale) -> list[tuple[Lot, Decimal]]:
        """First expired first, in what the scale can show and at most what it takes."""
        on_offer = [
            LotOnOffer(lot.pk, to_division(self.left[lot.pk], scale), lot.best_before)
            for lot in lots
        ]
        by_pk = {lot.pk: lot for lot in lots}
        picks, _ = draw_lots(grams, on_offer)
        return [(by_pk[pk], part) for pk, take in picks for part in in_goes(take, scale.capacity_g)]

    def weigh(self, proposal: Proposal, grams: Decimal | None = None, *, note: str = "") -> None:
        """Weigh a line, a little off as it happens, from as many lots as it takes."""
        target = proposal.need_g if grams is None else grams
        scale = self.scale_for(target)
        picks = self.draw(proposal.usable, to_division(target, scale), scale)
        for place, (lot, take) in enumerate(picks, start=1):
            grams = self.a_little_off(proposal, lot, take, scale) if place == len(picks) else take
            self.record(proposal, lot, grams, scale=scale, note=note)
        if len({lot.pk for lot, _ in picks}) > 1:
            first, second, *_ = (lot for lot, _ in picks)
            self.book.note(
                "two drums",
                f"{proposal.line.item} was weighed from lots {first} and {second}, {self.batch}",
            )

    def a_little_off(self, proposal: Proposal, lot: Lot, take: Decimal, scale: Scale) -> Decimal:
        """Within a third of the tolerance, and never more than the lot holds."""
        room = proposal.line.target_g * proposal.line.tolerance / 300 / scale.division_g
        steps = self.book.random.randint(-int(room), int(room))
        most = to_division(self.left[lot.pk], scale)
        grams = min(take + steps * scale.division_g, most)
        return grams if grams > 0 else take

    def check(self, step: Step) -> None:
        """The temperature and the time of a step, when it has limits."""
        if step.from_c is not None or step.to_c is not None:
            self._measure(step)
        if step.minutes and step.minutes >= WORTH_TIMING:
            took = Decimal(step.minutes + self.book.random.randint(0, 4))
            self._add(CheckKind.TIME, step, minutes=took, note="")
        if "spoon" in step.text.casefold():
            self._add(CheckKind.SPOON, step, note=self.book.random.choice(SPOONS))

    def _measure(self, step: Step) -> None:
        high = step.to_c if step.to_c is not None else step.from_c + 8
        low = step.from_c if step.from_c is not None else high - 6
        tenths = self.book.random.randint(int(low * 10), int(high * 10))
        note, warm = "", Decimal(tenths) / 10
        if self.book.chance(45):
            warm, note = high + Decimal("2.5"), "Too warm: heat off, waited, went on when it fell."
        self._add(CheckKind.TEMPERATURE, step, temperature_c=warm, note=note)

    def _add(
        self,
        kind: CheckKind,
        step: Step,
        *,
        temperature_c: Decimal | None = None,
        minutes: Decimal | None = None,
        note: str,
    ) -> None:
        kettle.add_check(
            self.batch,
            kind,
            step=step,
            temperature_c=temperature_c,
            minutes=minutes,
            note=note,
            by=self.maker,
            at=self.clock.after(4, 9),
            token=self.book.token(),
        )

    def pour(self) -> list[Lot]:
        """Pour all of it; a little stays in the kettle."""
        off = Decimal(self.book.random.randint(-60, 60)) / 100
        loss = max(self.batch.expected_loss + off, Decimal("0.3"))
        measured = to_division(self.taken_g * (100 - loss) / 100, self.book.bench)
        lots = kettle.pour(
            self.batch,
            [(None, measured)],
            marcs=self.marcs(),
            note=self.pour_note,
            by=self.maker,
            at=self.clock.after(6, 12),
            token=self.book.token(),
            draw=self.book.draw,
        )
        self.book.poured.append(self.batch)
        if not self.batch.version.claims_organic:
            self._clean()
        if self.batch.version_id == self.book.versions[SOAP.code].pk:
            on = self.book.day + timedelta(days=SOAP.cure_days or 0)
            self.book.curing.append((on, self.batch))
            put_on_rack(self.book, self.clock, lots[0], measured)
        return lots

    def _clean(self) -> None:
        """What was not organic is cleaned out before the next batch."""
        at = self.clock.after(8, 15)
        record_cleaning(
            self.batch.kettle,
            cleaned_at=at,
            method="Scraped, washed hot, dried",
            agent="Washing soda",
            rinse="One litre of hot water, poured off",
            checked_by=str(self.book.owner),
            by=self.maker,
            at=at,
            token=self.book.token(),
        )

    def marcs(self) -> dict[int, Decimal | None]:
        """What is strained out is pressed and weighed; now and then nobody weighs it."""
        lines = self.batch.lines.filter(formula_line__is_strained_out=True).with_taken()
        return {line.pk: self._marc(line) for line in lines}

    def _marc(self, line: BatchLine) -> Decimal | None:
        if self.book.chance(12):
            self.book.note("marc not weighed", f"{self.batch}: its marc is an estimate")
            return None
        share = Decimal(self.book.random.randint(1345, 1415)) / 1000
        marc = to_division(line.taken_g * share, self.book.bench)
        self.book.note("strained", f"{self.batch}: {marc} g of marc of {line.item} strained out")
        return marc


SPOONS = (
    "Set in three minutes, spreads well.",
    "Firm, melts on the wrist at once.",
    "A touch soft; left as it is.",
    "Smooth, no grain.",
)


def begin(book: Book, clock: Clock, code: str) -> Stove:
    """Plan a batch and lay out its lots; NotEnoughError, and nothing written, when one is short."""
    recipe = BY_CODE[code]
    target = Decimal(book.random.choice(recipe.sizes_g))
    with transaction.atomic():
        maker = book.maker()
        batch = kettle.plan_batch(
            book.versions[code],
            kettle=_kettle(book, target),
            scale=book.bench,
            target_g=target,
            by=maker,
            at=clock.after(3, 6),
            token=book.token(),
        )
        proposals = kettle.proposals(batch, on=book.day)
        # Room for an over-pour that is put right, and for grams that no scale can show.
        short = [one.line.item.code for one in proposals if _is_short(one)]
        if short:
            raise NotEnoughError(", ".join(short))
    return Stove(book, clock, batch, maker, proposals)


def _is_short(proposal: Proposal) -> bool:
    have = sum((lot.on_hand for lot in proposal.usable), Decimal(0))
    return have < proposal.need_g * Decimal("1.08") + len(proposal.usable)


def _kettle(book: Book, target_g: Decimal) -> Kettle:
    return next(kettle for kettle in book.kettles if target_g <= kettle.capacity_g)


def weigh_up(stove: Stove) -> None:
    for proposal in stove.proposals:
        stove.weigh(proposal)


def finish(stove: Stove) -> list[Lot]:
    """Do the steps with their checks, and pour."""
    for step in stove.batch.version.steps.all():
        stove.check(step)
    return stove.pour()


def to_division(grams: Decimal, scale: Scale) -> Decimal:
    """The most that the scale can show of it."""
    division: Decimal = scale.division_g
    return (grams / division).to_integral_value(ROUND_FLOOR) * division


def in_goes(grams: Decimal, at_most: Decimal) -> list[Decimal]:
    goes = []
    while grams > at_most:
        goes.append(at_most)
        grams -= at_most
    return [*goes, grams]
